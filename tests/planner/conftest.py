"""Catalogs that many tests of the planner use."""

import pytest

from service.planner.asked.catalog import Catalog
from tests.planner.scenarios import demo_catalog, example_a_catalog


@pytest.fixture(scope="session")
def demo() -> Catalog:
    """The demo dealer's catalog."""
    return demo_catalog()


@pytest.fixture(scope="session")
def example_a() -> Catalog:
    """The catalog of the hand-solved tunnel of 22 bays."""
    return example_a_catalog()
