"""The published contract: valid, complete, committed, and true."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import orjson
import pytest
from fastapi.testclient import TestClient
from openapi_schema_validator import OAS31Validator
from openapi_spec_validator import validate

from service.api.contract import REQUESTS
from service.api.problems import KINDS
from tests.api.write_examples import FOLDER, examples

COMMITTED = Path(__file__).parents[2] / "openapi" / "openapi.json"
REWRITE = "python -m service openapi > openapi/openapi.json"


@pytest.fixture(scope="module")
def contract(client: TestClient) -> dict[str, Any]:
    """Read the contract from the service."""
    document: dict[str, Any] = client.get("/openapi.json").json()
    return document


def _operations(contract: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, methods in contract["paths"].items():
        for method, operation in methods.items():
            yield f"{method.upper()} {path}", operation


def test_the_contract_is_valid(contract: dict[str, Any]) -> None:
    """OpenAPI 3.1, by an independent validator."""
    validate(contract)


def test_the_committed_contract_is_what_the_service_publishes(contract: dict[str, Any]) -> None:
    """A change of the contract is seen in the change that makes it; rewrite it by the command above."""
    assert orjson.loads(COMMITTED.read_bytes()) == contract, f"the contract has changed: {REWRITE}"


def test_writing_the_contract_again_changes_nothing(client: TestClient, contract: dict[str, Any]) -> None:
    """Whatever has been written before, in this process too."""
    assert client.app.openapi() == contract  # type: ignore[attr-defined]  # the client's type is any ASGI app


def test_the_command_prints_the_contract(contract: dict[str, Any]) -> None:
    """The committed file comes from here."""
    printed = subprocess.run(
        [sys.executable, "-m", "service", "openapi"], capture_output=True, check=True, timeout=60
    )
    assert orjson.loads(printed.stdout) == contract


def test_every_operation_is_described(contract: dict[str, Any]) -> None:
    """Id, summary, description, one known tag, security said outright, every refusal a problem document."""
    tags = {tag["name"] for tag in contract["tags"]}
    names = [operation["operationId"] for _, operation in _operations(contract)]
    assert len(names) == len(set(names))
    for name, operation in _operations(contract):
        assert operation["summary"], name
        assert operation["description"], name
        assert set(operation["tags"]) <= tags, name
        assert "security" in operation, name
        for status, answer in operation["responses"].items():
            assert "X-Request-ID" in answer["headers"], name
            if status >= "400":
                assert list(answer["content"]) == ["application/problem+json"], (name, status)
                assert answer["content"]["application/problem+json"]["examples"], (name, status)


def test_every_field_is_described(contract: dict[str, Any]) -> None:
    """Nobody has to guess what a field of the edge's own shapes means."""
    for model in ("ProblemDocument", "CutListRequest", "CutListAnswer", "CatalogDocument", "Published"):
        for name, field in contract["components"]["schemas"][model]["properties"].items():
            assert field.get("description"), f"{model}.{name}"


def test_unknown_fields_are_refused_by_every_request(contract: dict[str, Any]) -> None:
    """OWASP API3: what is not in the contract cannot be sent along."""
    for model in REQUESTS:
        assert contract["components"]["schemas"][model]["additionalProperties"] is False, model


def _bounded(schema: dict[str, Any]) -> bool:
    kind = schema.get("type")
    if kind == "array":
        return "maxItems" in schema
    if kind in {"integer", "number"}:
        return "minimum" in schema and "maximum" in schema
    if kind == "string":
        return bool({"maxLength", "pattern", "enum", "const", "format"} & set(schema))
    return True


def _reached(schema: Any, schemas: dict[str, Any], seen: set[str]) -> Iterator[dict[str, Any]]:  # any JSON
    """Walk every schema that a schema leads to."""
    if isinstance(schema, list):
        for inner in schema:
            yield from _reached(inner, schemas, seen)
    if not isinstance(schema, dict):
        return
    yield schema
    name = str(schema.get("$ref", "")).rpartition("/")[2]
    if name and name not in seen:
        seen.add(name)
        yield from _reached(schemas[name], schemas, seen)
    for key, inner in schema.items():
        if key not in {"default", "examples", "enum", "const"}:
            yield from _reached(list(inner.values()) if key == "properties" else inner, schemas, seen)


def test_everything_that_comes_in_is_bounded(contract: dict[str, Any]) -> None:
    """OWASP API4: every number, text and list of a request has a greatest value in the contract."""
    schemas = contract["components"]["schemas"]
    for model in REQUESTS:
        for schema in _reached(schemas[model], schemas, set()):
            assert _bounded(schema), (model, schema)


def test_every_kind_of_problem_is_documented_where_it_is_answered(contract: dict[str, Any]) -> None:
    """Each published kind stands with an operation, but for those of any address."""
    anywhere = {"method-not-allowed", "length-required"}
    documented = {
        slug
        for _, operation in _operations(contract)
        for answer in operation["responses"].values()
        for content in answer.get("content", {}).values()
        for slug in content.get("examples", {})
    }
    assert set(KINDS) - anywhere <= documented


def test_the_examples_are_what_the_service_answers() -> None:
    """Real requests and real answers; rewrite them with `python -m tests.api.write_examples`."""
    written = {file.stem: orjson.loads(file.read_bytes()) for file in FOLDER.glob("*.json")}
    assert written == dict(examples())


PAGES: Final = {"text/plain", "application/pdf", "text/html", "text/css", "text/javascript"}


def test_every_body_and_answer_has_an_example(contract: dict[str, Any]) -> None:
    """So that a reader sees one before reading a schema; pages, the metrics' text and the contract itself aside."""
    for name, operation in _operations(contract):
        answers = [answer for status, answer in operation["responses"].items() if status.startswith("2")]
        bodies = [operation.get("requestBody", {}), *answers[:1]]
        for media_type, content in (item for body in bodies for item in body.get("content", {}).items()):
            if media_type not in PAGES and not name.endswith("openapi.json"):
                assert content.get("examples"), (name, media_type)


def _validator(contract: dict[str, Any], schema: dict[str, Any]) -> OAS31Validator:
    return OAS31Validator({**schema, "components": contract["components"]})


def test_every_example_fits_its_schema(contract: dict[str, Any]) -> None:
    """By an independent validator: requests, answers and problems."""
    for name, operation in _operations(contract):
        for body in (operation.get("requestBody", {}), *operation["responses"].values()):
            for media in body.get("content", {}).values():
                for example in media.get("examples", {}).values():
                    errors = list(_validator(contract, media["schema"]).iter_errors(example["value"]))
                    assert not errors, (name, errors[:3])
