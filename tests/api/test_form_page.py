"""The script and the page: addresses, validators, integrity, policy, size, across origins.

Reference: Subresource Integrity (W3C 2016) 3.1; Content Security Policy 3; RFC 9111 and RFC 8246 (immutable).
"""

import base64
import gzip
import hashlib

import pytest
from fastapi.testclient import TestClient
from lxml import html

from service.app import create_app
from service.form.element import newest
from service.settings import Settings

LIMIT = 25_000
"""Most that the script may weigh, compressed [B]"""


def test_the_short_address_leads_to_a_script_that_never_changes(client: TestClient) -> None:
    """A redirect to a digest; cached for ever; any site's page may load it; small enough for a slow line."""
    led = client.get("/form/element.js", follow_redirects=False)
    assert led.status_code == 307
    script = client.get(led.headers["location"])
    assert script.headers["content-type"].startswith("text/javascript")
    assert "immutable" in script.headers["cache-control"]
    for answer in (led, script):
        assert answer.headers["access-control-allow-origin"] == "*"
        assert answer.headers["cross-origin-resource-policy"] == "cross-origin"
    assert hashlib.sha384(script.content).hexdigest()[:16] in led.headers["location"]
    assert b"@STYLE@" not in script.content
    assert b"@DARK@" not in script.content
    assert len(gzip.compress(script.content, 9)) < LIMIT
    again = client.get(led.headers["location"], headers={"if-none-match": script.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert client.get("/form/element-0123456789abcdef.js").status_code == 404


@pytest.mark.parametrize(
    ("language", "heading"), [("en", "Build your shin wall"), ("es", "muro"), ("fr", "muret")]
)
def test_the_page_names_the_script_by_its_digest(client: TestClient, language: str, heading: str) -> None:
    """Integrity is of the bytes served; nothing inline; in the reader's language."""
    answer = client.get("/form", headers={"accept-language": language, "accept": "text/html"})
    page = html.fromstring(answer.content)
    script = page.find(".//script")
    assert script is not None
    served = client.get(script.get("src") or "").content
    assert script.get("integrity") == f"sha384-{base64.b64encode(hashlib.sha384(served).digest()).decode()}"
    assert not (script.text or "").strip()
    assert page.find(".//style") is None
    assert not page.xpath("//@style")
    assert page.get("lang") == language == answer.headers["content-language"]
    assert heading in page.findtext(".//h1", "")
    policy = answer.headers["content-security-policy"]
    assert "unsafe" not in policy
    assert policy.startswith("default-src 'none'")


def test_the_page_asks_with_the_key_that_the_operator_set() -> None:
    """Keyed mode: the public key stands in the page, and in no other place."""
    with TestClient(create_app(Settings(form_key="k-public_1"))) as client:
        page = html.fromstring(client.get("/form").content)
        assert page.find(".//shin-wall-form").get("key") == "k-public_1"  # type: ignore[union-attr]  # the page has the element
        assert b"k-public_1" not in newest().content
