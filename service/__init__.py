"""The shin wall planning service."""

import os

# Read by the compiler when it is first imported, whoever imports it; see `machine_code.py`.
os.environ.setdefault(
    "NUMBA_CACHE_LOCATOR_CLASSES", "service.machine_code.SourcesLocator,UserWideCacheLocator"
)
