"""The form's descriptor: what a page asks a grower, with what the catalog offers.

Rules of this file
------------------
- It is all that a shop page's key sees of a catalog: sizes to choose from, and no price.
- Its validator covers catalog revision, language and texts, since it is made from its bytes.
"""

from typing import Annotated, Final

import orjson
from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Shopping
from service.api.answers import Finished, conditional, etag_of
from service.api.binding import USUAL_CATALOG
from service.api.contract import CONDITIONAL, KEYED, NOT_MODIFIED, refusals
from service.api.exchange import exchange_of, in_language
from service.api.problems import Problem
from service.api.questions import catalog_for
from service.api.state import service_of
from service.form.descriptor import describe
from service.form.shapes import FormOut
from service.planner.messages import say
from service.words.languages import texts_under

router: Final = APIRouter(prefix="/v1/form", tags=["form"])
CatalogName = Annotated[
    str | None,
    Query(
        pattern=r"^[a-z0-9][a-z0-9\-]{0,39}$",
        description="Catalog whose stock is offered; by default `demo`, or the one that a shop page's key is bound to",
        examples=["demo"],
    ),
]


@router.get(
    "",
    operation_id="readForm",
    summary="Describe the form",
    responses={**refusals(*KEYED, "no-such-catalog", "store-away"), **NOT_MODIFIED},
    response_model=FormOut,
    openapi_extra=CONDITIONAL,
)
async def read_form(request: Request, principal: Shopping, catalog: CatalogName = None) -> Response:
    """Answer the schema of a spec and how a form presents it: groups, words, units, defaults, limits, options in stock.

    Texts are in the language of `Accept-Language`.
    """
    negotiate.require(request)
    bound = principal.storefront.catalog if principal.storefront else None
    name = catalog or bound or str(USUAL_CATALOG)
    if bound is not None and name != bound:
        raise Problem(
            "no-such-catalog",
            say("problem.no_catalog", "There is no such catalog to plan from."),
            [
                {
                    "parameter": "catalog",
                    "detail": say("field.catalog_unknown", "is not a catalog of this dealer"),
                }
            ],
        )
    snapshot = await catalog_for(service_of(request), principal.dealer, name, None)
    language = exchange_of(request).language
    content = orjson.dumps(
        describe(
            snapshot.catalog,
            snapshot.catalog_id,
            snapshot.revision,
            language,
            texts_under(language.tag, "field."),
        )
    )
    headers = {"cache-control": "private, no-cache", "content-language": language.tag}
    vary = {"vary": f"{in_language(language)['vary']}, Authorization, X-API-Key"}
    return conditional(request, Finished(content=content, etag=etag_of(content)), headers | vary)
