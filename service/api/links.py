"""Links of the contract: which answer leads to which operation (OpenAPI 3.1, link object).

Rules of this file
------------------
- One row for each step that a client would take with what it has just been given.
"""

from collections.abc import Mapping
from typing import Any, Final

_CATALOG: Final = {"catalog_id": "$request.path.catalog_id"}
_PUBLISHED: Final = {**_CATALOG, "revision": "$response.body#/revision"}

LINKS: Final[Mapping[tuple[str, str], Mapping[str, Mapping[str, Any]]]] = {
    ("listCatalogs", "200"): {
        "read": {"operationId": "readCatalog", "parameters": {"catalog_id": "$response.body#/catalogs/0/id"}},
        "revisions": {
            "operationId": "listRevisions",
            "parameters": {"catalog_id": "$response.body#/catalogs/0/id"},
        },
    },
    ("listRevisions", "200"): {
        "read": {
            "operationId": "readCatalog",
            "parameters": {**_CATALOG, "revision": "$response.body#/revisions/0/revision"},
        },
        "compare": {
            "operationId": "compareRevisions",
            "parameters": _CATALOG,
            "requestBody": {"before": "$response.body#/revisions/0/revision"},
        },
    },
    ("publishCatalog", "200"): {
        "read": {"operationId": "readCatalog", "parameters": _PUBLISHED},
        "activate": {
            "operationId": "activateRevision",
            "parameters": {**_CATALOG, "If-Match": "$response.header.ETag"},
            "requestBody": {"revision": "$response.body#/previous"},
        },
    },
    ("publishCatalog", "201"): {"read": {"operationId": "readCatalog", "parameters": _PUBLISHED}},
    ("activateRevision", "200"): {"read": {"operationId": "readCatalog", "parameters": _PUBLISHED}},
    ("makePlan", "200"): {
        "catalog": {
            "operationId": "readCatalog",
            "parameters": {
                "catalog_id": "$response.body#/catalog/id",
                "revision": "$response.body#/catalog/revision",
            },
        },
    },
}
"""Links by operation and status, each by its name"""
