"""The language of an answer is the one that the caller accepts most."""

from typing import Any, Final

import pytest
from fastapi.testclient import TestClient

from service.app import create_app
from service.settings import Settings
from service.words.languages import choose

BODY: Final[dict[str, Any]] = {
    "structure": {"bays": 3, "bay_spacing": "4 ft", "sides": ["left"]},
    "wall": {"panel_thickness": "8 mm"},
}


@pytest.mark.parametrize(
    ("accept_language", "language"),
    [
        ("", "en"),
        ("es", "es"),
        ("fr-CA, en;q=0.8", "fr"),
        ("de, es;q=0.3, fr;q=0.2", "es"),
        ("en;q=0.1, fr;q=0.9", "fr"),
        ("ES-mx", "es"),
        ("de", "en"),  # RFC 9110 section 12.5.4: none fits, so another is sent
        ("*", "en"),
        ("en;q=0, *;q=0.5", "es"),
        ("es;q=wrong, fr;q=0.1", "fr"),
        ("es;q=2", "en"),
        ("es;q=0", "en"),
        (",;,=;q", "en"),
    ],
)
def test_the_language_accepted_most_is_taken(accept_language: str, language: str) -> None:
    assert choose(accept_language) == language


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(create_app(Settings(open_mode=True)), base_url="http://127.0.0.1")


def test_a_plan_differs_by_its_texts_alone(client: TestClient) -> None:
    """Same plan, same id, other words; each language has its own answer, also when it is asked again."""
    with client:
        answers = {
            tag: client.post("/v1/plans", json=BODY, headers={"accept-language": tag})
            for tag in ("en", "es", "fr", "es")
        }
    for tag, answer in answers.items():
        assert answer.status_code == 200
        assert answer.headers["content-language"] == tag
        assert "Accept-Language" in answer.headers["vary"]
    english, spanish, french = (answers[tag].json() for tag in ("en", "es", "fr"))
    assert english["plan_id"] == spanish["plan_id"] == french["plan_id"]
    assert len({answer.headers["etag"] for answer in answers.values()}) == 3
    assert _without_texts(english) == _without_texts(spanish) == _without_texts(french)
    assert "de muro en 1 tramo:" in spanish["summary"]["headline"]["text"]
    assert "de mur en 1 tronçon\u00a0:" in french["summary"]["headline"]["text"]


def _without_texts(value: Any) -> Any:
    """Drop the texts of messages, wherever they stand."""
    if isinstance(value, dict):
        texts = {"text"} if "code" in value else set()
        return {name: _without_texts(inner) for name, inner in value.items() if name not in texts}
    return [_without_texts(inner) for inner in value] if isinstance(value, list) else value


def test_a_problem_is_told_in_the_language_with_its_code_and_values(client: TestClient) -> None:
    """RFC 9457 section 3.1.4: detail is text; code and values stand beside it as extension members."""
    body = BODY | {"wall": {"panel_thickness": "8 mm", "end_cover": "9 m"}}
    with client:
        answer = client.post("/v1/plans", json=body, headers={"accept-language": "fr"})
    assert answer.status_code == 422
    assert answer.headers["content-language"] == "fr"
    problem = answer.json()
    assert (problem["code"], problem["detail"]) == ("problem.fields", "Un champ est à corriger.")
    [error] = problem["errors"]
    assert error["code"] == "field.between"
    assert error["detail"].startswith("doit être entre ")
    assert error["values"].keys() == {"least_mm", "most_mm"}
