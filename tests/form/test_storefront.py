"""The worked integration: a shop on another origin shows the form, verifies its quote offline and posts the order."""

import os
import subprocess
import sys
from pathlib import Path

import httpx2
from playwright.sync_api import expect

from tests.api.live import free_port, serving
from tests.form.browser import Watched, browsing


def test_a_shop_on_another_origin_sells_a_wall(tmp_path: Path) -> None:
    """From two answers to an order at the price shown; a token that was changed is not ordered."""
    port = free_port()
    shop = f"http://127.0.0.1:{port}"
    with serving(tmp_path / "service.log", {"SHIN_WALL_OPEN_ORIGINS": f'["{shop}"]'}) as live:
        command = [sys.executable, "deploy/storefront/shop.py", str(port)]
        environment = {**os.environ, "SERVICE": live.url}
        with (
            (tmp_path / "shop.log").open("wb") as log,
            subprocess.Popen(command, env=environment, stderr=log) as process,
            browsing() as browser,
        ):
            try:
                page = browser.new_page(locale="en-US")
                page.set_default_timeout(10_000)
                watched = Watched(page, (live.url, shop))
                page.goto(shop)
                page.get_by_label("Number of bays along one side").fill("12")
                page.get_by_label("Distance from post to post").fill("5 ft")
                page.get_by_role("button", name="Save this price").click()
                expect(page.get_by_text("Saved as q-")).to_be_visible()
                price = page.locator("shin-wall-form .price").inner_text().lstrip("$").replace(",", "")
                token = page.url.partition("#quote=")[2]
                page.get_by_role("button", name="Order this wall").click()
                expect(page.locator("#ordered")).to_have_text(f"Ordered for USD {price}, as quoted: {price}.")
                changed = token[:-8] + ("A" if token[-8] != "A" else "B") + token[-7:]
                refused = httpx2.post(f"{shop}/order", content=changed, timeout=30)
                assert (refused.status_code, refused.text[:13]) == (422, "Not ordered: ")
                assert watched.faults == []
            finally:
                process.terminate()
