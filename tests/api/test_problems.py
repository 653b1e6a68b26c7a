"""Problems: complete, mapped, explained."""

from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from service.api.problems import KINDS, PLAN_ERRORS, Problem, as_document
from service.api.refusals import STORE_ERRORS
from service.planner.errors import PlanError
from service.planner.messages import say
from service.store.errors import StoreError

SOMETHING = say("test.something", "something")


def _leaves(root: type[Exception]) -> Iterator[type[Exception]]:
    """Walk the classes that have no children of their own."""
    children = root.__subclasses__()
    if not children:
        yield root
    for child in children:
        yield from _leaves(child)


def test_every_leaf_of_the_planners_errors_is_mapped() -> None:
    """A new way to refuse a plan has to be given its problem."""
    assert set(_leaves(PlanError)) == set(PLAN_ERRORS)


def test_every_leaf_of_the_stores_errors_is_mapped() -> None:
    """A new way to refuse a catalog has to be given its problem."""
    assert set(_leaves(StoreError)) == set(STORE_ERRORS)


def test_every_mapping_leads_to_a_published_kind() -> None:
    """Both tables name rows of the one table of kinds."""
    assert {*PLAN_ERRORS.values(), *STORE_ERRORS.values()} <= set(KINDS)


@pytest.mark.parametrize("slug", KINDS)
def test_every_type_is_an_address_that_explains_it(client: TestClient, slug: str) -> None:
    """RFC 9457 section 3.1.1: consumers may dereference `type`."""
    document = as_document(Problem(slug, SOMETHING), "/requests/1")
    page = client.get(document["type"])
    assert page.status_code == 200
    assert page.json()["title"] == document["title"]
    assert page.json()["status"] == document["status"]


def test_the_list_of_problems_holds_them_all(client: TestClient) -> None:
    """Each kind once."""
    types = [row["type"] for row in client.get("/problems").json()["problems"]]
    assert types == [f"/problems/{slug}" for slug in KINDS]


def test_a_problem_that_is_not_published_is_404(client: TestClient) -> None:
    """Also for a name that cannot be one."""
    assert client.get("/problems/no-such-kind").status_code == 404
    assert client.get("/problems/NO%00SUCH").status_code == 404


def test_the_public_address_stands_in_the_type() -> None:
    """A type is absolute where the service knows its own address."""
    assert (
        as_document(Problem("busy", SOMETHING), "/r", "https://plans.example")["type"]
        == "https://plans.example/problems/busy"
    )


def test_what_the_caller_does_not_accept_is_406(client: TestClient) -> None:
    """RFC 9110 section 12.5.1; the refusal itself is still a problem document."""
    answer = client.get("/problems", headers={"accept": "text/html, application/*;q=0"})
    assert (answer.status_code, answer.headers["content-type"]) == (406, "application/problem+json")


@pytest.mark.parametrize(
    "accept",
    ["", "*/*", "application/json", "application/*;q=0.1", "text/html, */*;q=0.1", "Application/JSON;v=1"],
)
def test_what_the_caller_accepts_is_answered(client: TestClient, accept: str) -> None:
    """Ranges, weights, case and an empty field."""
    assert client.get("/problems", headers={"accept": accept}).status_code == 200


def test_what_the_caller_has_already_is_304(client: TestClient) -> None:
    """RFC 9110 section 13.1.2: weak comparison, lists and the star."""
    etag = client.get("/problems").headers["etag"]
    for sent in (etag, f"W/{etag}", f'"other", {etag}', "*"):
        answer = client.get("/problems", headers={"if-none-match": sent})
        assert (answer.status_code, answer.content, answer.headers["etag"]) == (304, b"", etag)
    assert client.get("/problems", headers={"if-none-match": '"other"'}).status_code == 200
