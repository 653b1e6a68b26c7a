"""The published contract: what the framework writes about the routes, completed to OpenAPI 3.1.

Rules of this file
------------------
- A handler says what it refuses by `refusals(...)` and what body it reads by `reads(...)`; the rest follows from those.
- Request schemas are the models that validate; examples are files that a test holds to what the service answers.
- Every operation has its security, its tags, its refusals and `X-Request-ID`; nothing is documented that is not true.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from copy import deepcopy
from functools import cache
from http import HTTPStatus
from importlib import resources
from typing import Any, Final

import orjson
from fastapi import FastAPI
from fastapi.dependencies.models import Dependant
from fastapi.openapi.utils import get_openapi
from fastapi.routing import RouteContext, iter_route_contexts
from pydantic import TypeAdapter

from service.api import problems
from service.api.access import Access
from service.api.cut_list_shapes import CUT_LIST
from service.api.links import LINKS
from service.api.models import CATALOG, SPEC, ProblemDocument
from service.api.revision_shapes import ACTIVATION, COMPARISON
from service.api.sales_shapes import ORDER_REQUEST, QUOTE_REQUEST, TOKEN_REQUEST
from service.words.languages import TRANSLATED, languages

ANYWHERE: Final = ("invalid-parameters", "not-acceptable", "internal-error")
"""What every operation may refuse"""
KEYED: Final = ("key-required", "not-allowed", "origin-not-allowed", "rate-limited")
"""What an operation with a scope may refuse besides"""
BODY: Final = (
    "malformed-json",
    "malformed-request",
    "body-too-large",
    "body-too-deep",
    "unsupported-media-type",
    "invalid-fields",
)
"""What an operation with a JSON body may refuse besides"""
LIST: Final = (
    "malformed-request",
    "body-too-large",
    "unsupported-media-type",
    "price-list-unreadable",
    "price-list-refused",
)
"""What an operation with a price list may refuse besides"""
WRITING: Final = ("revision-mismatch", "revision-required", "limit-reached", "store-away")
"""What an operation that changes a catalog may refuse besides"""

REQUESTS: Final[Mapping[str, TypeAdapter[Any]]] = {
    "Spec": SPEC,
    "QuoteRequest": QUOTE_REQUEST,
    "TokenRequest": TOKEN_REQUEST,
    "OrderRequest": ORDER_REQUEST,
    "CutListRequest": CUT_LIST,
    "CatalogDocument": CATALOG,
    "Activation": ACTIVATION,
    "ComparisonRequest": COMPARISON,
}
"""Models of request bodies by the name that the contract gives them"""

_REF: Final = "#/components/schemas/{model}"
_VERBS: Final = frozenset({"get", "put", "post", "delete", "patch", "head", "options", "trace"})
_TAGS: Final = (
    ("plans", "From a structure spec to a complete plan of its shin wall"),
    ("quotes", "Bills whose price holds for a time, signed so that they need no memory"),
    ("orders", "Many walls bought together, and their documents"),
    ("cutting", "Cutting of stock at proven least cost"),
    ("batches", "Bid lists of many structures"),
    ("paper", "What people look at: drawings, labels and the crew's packet"),
    ("form", "What a shop's page asks a grower"),
    ("catalogs", "A dealer's stock, prices and rules, in immutable revisions"),
    ("reference", "What the rules and figures rest on"),
    ("problems", "What refusals mean"),
    ("operation", "Health and metrics"),
)
_SECURITY: Final = {
    "bearerKey": {
        "type": "http",
        "scheme": "bearer",
        "description": "A dealer's key as a bearer token (RFC 6750).",
    },
    "headerKey": {
        "type": "apiKey",
        "in": "header",
        "name": "X-API-Key",
        "description": "A dealer's key in its own header.",
    },
}
_DESCRIPTION: Final = """\
Plans the shin wall of a high tunnel: the low wall of multiwall polycarbonate along its sides. A structure spec goes in;
layout, cutting, bill of materials, fastener schedule, order of work and checks come out, complete enough to build from.

- Lengths go in as millimetres or as text with units and come out in millimetres; fields that people read are texts too.
- Money is a decimal text; its currency stands beside it.
- The same spec, catalog revision and planner version give the same bytes.
- Refusals are RFC 9457 problems; each `type` is an address that explains it.
- Within version 1 fields may be added to answers; unknown ones must be ignored. Unknown fields in requests are refused.
- On loopback with the embedded catalogs no key is asked for; everywhere else every operation below states its scheme.
"""


def refusals(*slugs: str) -> dict[int | str, dict[str, Any]]:
    """Document the problems that an operation may answer with."""
    by_status: defaultdict[int, list[problems.Kind]] = defaultdict(list)
    for slug in dict.fromkeys((*slugs, *ANYWHERE)):
        by_status[problems.KINDS[slug].status].append(problems.KINDS[slug])
    return {status: _refusal(kinds) for status, kinds in sorted(by_status.items())}


def _refusal(kinds: list[problems.Kind]) -> dict[str, Any]:
    examples = {kind.slug: {"summary": kind.title.text, "value": _example_problem(kind)} for kind in kinds}
    schema = {"$ref": _REF.format(model="ProblemDocument")}
    documented: dict[str, Any] = {
        "description": "; ".join(kind.title.text for kind in kinds),
        "content": {problems.MEDIA_TYPE: {"schema": schema, "examples": examples}},
    }
    if kinds[0].status in {HTTPStatus.TOO_MANY_REQUESTS, HTTPStatus.SERVICE_UNAVAILABLE}:
        documented["headers"] = {
            "Retry-After": _header("When to try again [s]", {"type": "integer", "minimum": 1})
        }
    return documented


def _example_problem(kind: problems.Kind) -> dict[str, Any]:
    """Make an example with an example's detail; kinds that name fields have files of their own."""
    held = _example(f"problem.{kind.slug}")
    return held or problems.as_document(
        problems.Problem(kind.slug, kind.meaning), "/requests/6f1d2c0b9a8e4d75"
    )


def _header(description: str, schema: Mapping[str, Any], *, required: bool = True) -> dict[str, Any]:
    return {"description": description, "required": required, "schema": dict(schema)}


def reads(model: str) -> dict[str, Any]:
    """Document the JSON body that an operation reads."""
    content = {"application/json": {"schema": {"$ref": _REF.format(model=model)}}}
    return {"requestBody": {"required": True, "content": content}}


def _validators(name: str, description: str) -> dict[str, Any]:
    return {
        "name": name,
        "in": "header",
        "required": False,
        "description": description,
        "schema": {"type": "string"},
    }


CONDITIONAL: Final = {
    "parameters": [_validators("If-None-Match", "Validators of answers that the caller has already")]
}
"""Documents that an answer is 304 where the caller has it already"""
PRECONDITIONS: Final = {
    "parameters": [
        _validators(
            "If-Match", "The `ETag` of the revision that is replaced, or a star for whatever is active"
        ),
        _validators("If-None-Match", "A star: only where no revision is active"),
    ]
}
"""Documents that an operation replaces a revision knowingly"""
NOT_MODIFIED: Final[dict[int | str, dict[str, Any]]] = {
    304: {"description": "The caller has the answer already"}
}
"""Documents the answer without a body"""


def represents(model: str) -> dict[int | str, dict[str, Any]]:
    """Document an answer that is a document of its own."""
    schema = {"$ref": _REF.format(model=model)}
    return {200: {"description": "Successful Response", "content": {"application/json": {"schema": schema}}}}


@cache
def _example(name: str) -> Any:  # noqa: ANN401  # an example is any JSON
    """Read an example's file; None where there is none."""
    held = resources.files("service.api").joinpath("examples", f"{name}.json")
    return orjson.loads(held.read_bytes()) if held.is_file() else None


def scope_of(dependant: Dependant) -> str | None:
    """Tell which scope an operation asks for; None when it is open to everyone."""
    for needed in dependant.dependencies:
        if isinstance(needed.call, Access):
            return needed.call.scope.value
    return None


def _operations(document: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Walk the operations of a document."""
    for path in document["paths"].values():
        yield from (operation for verb, operation in path.items() if verb in _VERBS)


def _complete(operation: dict[str, Any], scopes: Mapping[str, str | None]) -> None:
    """Add to an operation what the framework leaves out."""
    name = operation["operationId"]
    scope = scopes[name]
    operation["security"] = [{scheme: []} for scheme in _SECURITY] if scope else []
    if scope:
        operation["description"] = f"{operation['description']}\n\nAsks for the scope `{scope}`."
    operation["responses"] = {
        status: answer
        for status, answer in operation["responses"].items()
        if "HTTPValidationError" not in str(answer.get("content"))
    }
    for status, answer in operation["responses"].items():
        if (name, status) in LINKS:
            answer["links"] = LINKS[name, status]
        answer.setdefault("headers", {})["X-Request-ID"] = _header(
            "Names this exchange in logs", {"type": "string"}
        )
    _exemplify(operation, name)


def _exemplify(operation: dict[str, Any], name: str) -> None:
    """Put the examples of an operation beside its schemas."""
    answers = [answer for status, answer in operation["responses"].items() if status in {"200", "201"}]
    for body, kind in (
        (operation.get("requestBody", {}), "request"),
        *[(answer, "answer") for answer in answers],
    ):
        example = _example(f"{name}.{kind}")
        for media in body.get("content", {}).values():
            if example is not None and "examples" not in media:
                media["examples"] = {"demo": {"value": example}}


def _message_codes() -> dict[str, Any]:
    """List the codes of all messages, and of the nouns in their values; later versions may say more."""
    return {
        "type": "string",
        "title": "MessageCode",
        "description": "Names a message, or a thing in its values, in every language and for ever. Later versions may add codes.",
        "x-extensible-enum": sorted(languages()[TRANSLATED[0]].texts),
    }


def _schemas(found: dict[str, Any]) -> dict[str, Any]:
    """Add the request bodies and the problem to the schemas that answers brought."""
    models: dict[str, TypeAdapter[Any]] = {**REQUESTS, "ProblemDocument": TypeAdapter(ProblemDocument)}
    _, definitions = TypeAdapter.json_schemas(
        [(name, "validation", adapter) for name, adapter in models.items()], ref_template=_REF
    )
    schemas = {**found, **definitions.get("$defs", {}), "MessageCode": _message_codes()}
    return {
        name: schemas[name]
        for name in sorted(schemas)
        if name not in {"HTTPValidationError", "ValidationError"}
    }


def _as_the_framework_writes(app: FastAPI, public_url: str) -> dict[str, Any]:
    """Let the framework describe the routes; parts of what it gives belong to the routes and are copied before use."""
    return get_openapi(
        title="Shin wall planner",
        version=app.version,
        summary="A structure spec in, a complete buildable plan of its shin wall out",
        description=_DESCRIPTION,
        routes=app.routes,
        tags=[{"name": name, "description": description} for name, description in _TAGS],
        servers=[{"url": public_url or "/", "description": "This service"}],
        license_info={"name": "MIT", "identifier": "MIT"},
    )


def write(app: FastAPI, public_url: str) -> dict[str, Any]:
    """Write the contract of an application.

    Parameters
    ----------
    app
        The application, with all its routes.
    public_url
        Where clients reach the service; `/` when it is not known.
    """
    document: dict[str, Any] = deepcopy(_as_the_framework_writes(app, public_url))
    scopes = {context.operation_id: scope_of(context.dependant) for context in _documented(app)}
    for operation in _operations(document):
        _complete(operation, scopes)
    components = document.setdefault("components", {})
    components["schemas"] = _schemas(components.get("schemas", {}))
    components["securitySchemes"] = _SECURITY
    return document


def _documented(app: FastAPI) -> Iterator[RouteContext]:
    """Walk the routes that the contract shows."""
    return (
        context for context in iter_route_contexts(app.routes) if getattr(context, "include_in_schema", False)
    )
