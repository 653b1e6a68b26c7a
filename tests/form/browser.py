"""A real browser for the tests: Chromium of the system, driven by Playwright.

Where there is none the tests say so and skip; a run that is marked as CI fails instead.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

NAMES: Final = ("chromium", "chromium-browser", "google-chrome")


def found() -> str:
    """Where the browser is, or skip."""
    path = next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        assert not os.environ.get("CI"), "no Chromium is installed"
        pytest.skip("no Chromium is installed")
    return path


@contextmanager
def browsing() -> Iterator[Browser]:
    """A browser for the time of some tests."""
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=found(), args=["--no-sandbox"])
        try:
            yield browser
        finally:
            browser.close()


class Watched:
    """What a page did beside what was asked of it."""

    def __init__(self, page: Page, own: tuple[str, ...]) -> None:
        self.faults: list[str] = []
        self.requests: list[str] = []
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("console", lambda line: self._line(line.text) if line.type in {"error", "warning"} else None)
        page.on("request", lambda asked: self._asked(asked.url, own))

    def _line(self, text: str) -> None:
        """Keep a line; the browser itself reports every answer of 400 and above, which here are problems."""
        if not text.startswith("Failed to load resource: the server responded"):
            self.faults.append(text)

    def _asked(self, url: str, own: tuple[str, ...]) -> None:
        self.requests.append(url)
        if not url.startswith(own):
            self.faults.append(f"asked elsewhere: {url}")
