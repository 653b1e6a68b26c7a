"""From settings to the store that holds the service's state.

Rules of this file
------------------
- Without a server's address the embedded store is used; it needs nothing.
- A catalog is read by the planner's own model and rules, whoever publishes it.
"""

from collections.abc import Callable
from functools import partial

import orjson
from pydantic import ValidationError

from service.api.models import CATALOG
from service.api.pointers import field_problems
from service.planner.catalog import Catalog, index
from service.planner.errors import CatalogInvalid
from service.settings import Settings
from service.store.contract import Store
from service.store.folder import FolderSettings, FolderStore
from service.store.keys import key_digest


def open_store(settings: Settings) -> Store[Catalog]:
    """Make the store that the settings ask for; it is started by the application's lifespan."""
    folder = FolderSettings(folder=settings.catalog_folder, plan_bytes=settings.plan_cache_bytes)
    return FolderStore(folder, read_catalog)


def digest_with(settings: Settings) -> Callable[[str], str]:
    """Give the keyed digest of this installation's keys."""
    return partial(key_digest, pepper=settings.key_pepper.get_secret_value().encode())


def read_catalog(document: object) -> Catalog:
    """Read a catalog from decoded JSON.

    Raises
    ------
    CatalogInvalid
        With everything found wrong.
    """
    try:
        return index(CATALOG.validate_json(orjson.dumps(document)))
    except ValidationError as error:
        problems = field_problems(error, document, CATALOG)
    raise CatalogInvalid("The catalog document is not as the contract says.", problems)
