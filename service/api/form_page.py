"""The form's custom element, and a page that shows it.

Rules of this file
------------------
- Scripts are named by a digest and never change; the short address leads to the newest.
- Any site's page may load the script; what the script may ask is decided where keys are known.
- The page runs under a policy that lets nothing in but the service's own script and style sheet.
"""

from pathlib import Path as File
from typing import Annotated, Any, Final

from fastapi import APIRouter, Path
from lxml import html
from lxml.html import builder as tag
from lxml.html.builder import E
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import PUBLIC
from service.api.answers import Finished, conditional, etag_of
from service.api.contract import CONDITIONAL, NOT_MODIFIED, refusals
from service.api.exchange import exchange_of, in_language
from service.api.problems import Problem
from service.api.state import service_of
from service.form.element import newest, scripts
from service.form.words import PAGE_LEAD, PAGE_TITLE
from service.planner.messages import say
from service.planner.writing import Writer

router: Final = APIRouter(prefix="/form", tags=["form"], dependencies=[PUBLIC])
Digest = Annotated[
    str,
    Path(pattern=r"^[0-9a-f]{16}$", description="Digest of the script", examples=[newest().digest]),
]
_SCRIPT: Final = "text/javascript"
_STYLE: Final = "text/css"
_PAGE: Final = "text/html"
_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_ANYWHERE: Final = {"access-control-allow-origin": "*", "cross-origin-resource-policy": "cross-origin"}
_LOOK: Final = File(__file__).parents[1].joinpath("form", "script", "page.css").read_bytes()


def _answered(media_type: str, what: str) -> dict[int | str, dict[str, Any]]:
    """Document an answer that is no JSON."""
    return {200: {"description": what, "content": {media_type: {"schema": {"type": "string"}}}}}


def _served(request: Request, content: bytes, media_type: str, headers: dict[str, str]) -> Response:
    """Answer bytes that have a validator."""
    negotiate.require(request, media_type)
    finished = Finished(content=content, etag=etag_of(content))
    return conditional(request, finished, headers | {"content-type": f"{media_type}; charset=utf-8"})


@router.get(
    "/element.js",
    operation_id="findElement",
    summary="Find the newest script of the form",
    status_code=307,
    response_class=Response,
    responses={307: {"description": "Where it is", "headers": {"Location": {"schema": {"type": "string"}}}}},
)
async def find_element(request: Request) -> Response:
    """Lead to the newest script; a page that names its digest and `integrity` needs no leading."""
    base = service_of(request).settings.public_url
    address = f"{base}/form/element-{newest().digest}.js"
    return Response(status_code=307, headers={"location": address, "cache-control": "no-cache", **_ANYWHERE})


@router.get(
    "/element-{digest}.js",
    operation_id="readElement",
    summary="Read a script of the form",
    response_class=Response,
    responses={
        **_answered(_SCRIPT, "A module that defines the element `shin-wall-form`"),
        **refusals("not-found"),
        **NOT_MODIFIED,
    },
    openapi_extra=CONDITIONAL,
)
async def read_element(request: Request, digest: Digest) -> Response:
    """Answer the custom element's module: no other request is needed for it, and it never changes."""
    script = scripts().get(digest)
    if script is None:
        raise Problem(
            "not-found",
            say("problem.no_script", "There is no such script; /form/element.js leads to the newest one."),
        )
    headers = {"cache-control": "public, max-age=31536000, immutable", **_ANYWHERE}
    return _served(request, script.content, _SCRIPT, headers)


@router.get(
    "/page.css",
    operation_id="readFormStyle",
    summary="Read the style sheet of the form's page",
    response_class=Response,
    responses={**_answered(_STYLE, "A style sheet"), **refusals(), **NOT_MODIFIED},
    openapi_extra=CONDITIONAL,
)
async def read_style(request: Request) -> Response:
    """Answer the look of the page around the form."""
    return _served(request, _LOOK, _STYLE, {"cache-control": "public, max-age=3600"})


@router.get(
    "",
    operation_id="showForm",
    summary="Show the form",
    response_class=Response,
    responses={**_answered(_PAGE, "A page with the form"), **refusals(), **NOT_MODIFIED},
    openapi_extra=CONDITIONAL,
)
async def show_form(request: Request) -> Response:
    """Answer a page that shows the form, in the language of `Accept-Language`."""
    service, language = service_of(request), exchange_of(request).language
    write = Writer(language).text
    script, base, key = newest(), service.settings.public_url, service.settings.form_key
    address = f"{base}/form/element-{script.digest}.js"
    page = tag.HTML(
        tag.HEAD(
            tag.META(charset="utf-8"),
            tag.META(name="viewport", content="width=device-width, initial-scale=1"),
            tag.TITLE(write(PAGE_TITLE)),
            tag.LINK(rel="stylesheet", href=f"{base}/form/page.css"),
            tag.SCRIPT(type="module", src=address, integrity=script.integrity),
        ),
        tag.BODY(
            E.header(tag.H1(write(PAGE_TITLE)), tag.P(write(PAGE_LEAD))),
            E.main(E("shin-wall-form", {"key": key} if key else {})),
        ),
        lang=language.tag,
    )
    content: bytes = html.tostring(page, doctype="<!DOCTYPE html>", encoding="utf-8")
    headers = {
        "content-security-policy": _POLICY,
        "cache-control": "no-cache",
        "content-language": language.tag,
    }
    return _served(request, content, _PAGE, headers | in_language(language))
