"""From settings to the store that holds the service's state.

Rules of this file
------------------
- Without a server's address the embedded store is used; it needs nothing.
- A catalog is read by the planner's own reader, whoever publishes it.
"""

from collections.abc import Callable
from functools import partial

from service.planner.asked.catalog import Catalog
from service.planner.asked.catalog_rules import read_catalog
from service.settings import Settings
from service.store.contract import Store
from service.store.folder import FolderSettings, FolderStore
from service.store.keys import key_digest
from service.store.redis_store import RedisSettings, RedisStore
from service.store.server import Address


def open_store(settings: Settings) -> Store[Catalog]:
    """Make the store that the settings ask for; it is started by the application's lifespan."""
    if settings.redis_url is None:
        folder = FolderSettings(folder=settings.catalog_folder, plan_bytes=settings.plan_cache_bytes)
        return FolderStore(folder, read_catalog)
    shared = RedisSettings(
        address=_address(settings, settings.redis_url.get_secret_value()),
        prefix=settings.redis_prefix,
        state_file=settings.state_file,
        plan_bytes=settings.plan_cache_bytes,
        shared_plan_lifetime_s=settings.shared_plan_seconds,
    )
    return RedisStore(shared, read_catalog)


def _address(settings: Settings, url: str) -> Address:
    """Say where the server is, or who knows."""
    pairs = (sentinel.rpartition(":") for sentinel in settings.redis_sentinels)
    sentinels = tuple((host, int(port)) for host, _, port in pairs)
    return Address(url=url, sentinels=sentinels, service=settings.redis_service)


def digest_with(settings: Settings) -> Callable[[str], str]:
    """The keyed digest of this installation's keys."""
    return partial(key_digest, pepper=settings.key_pepper.get_secret_value().encode())
