"""Fixtures of the service's HTTP tests, for batches."""

from tests.api.conftest import app, client, keys

__all__ = ["app", "client", "keys"]
