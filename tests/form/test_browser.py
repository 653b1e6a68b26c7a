"""The form in a real browser: filled in as a person would, on a phone and a desk, when things go wrong, by axe.

References: WCAG 2.2 A and AA as far as axe-core checks them (rules of Deque's axe-core, as shipped); Content Security
Policy 3, which the page's own header switches on.
"""

import json
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

import httpx2
import pytest
from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]  # ships no types
from playwright.sync_api import Browser, BrowserContext, Page, Route, ViewportSize, expect

from tests.api.live import Live, serving
from tests.form.browser import Watched, browsing

SPEC: Final = {
    "structure": {"bays": 12, "bay_spacing": "5 ft"},
    "wall": {"panel_thickness": "8 mm"},
    "display_units": "imperial",
}
BAYS: Final = "Number of bays along one side"
SPACING: Final = "Distance from post to post"
RULES: Final = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice"]
}
PHONE: Final[ViewportSize] = {"width": 360, "height": 740}
SCREENS: Final[tuple[ViewportSize, ...]] = (
    PHONE,
    {"width": 768, "height": 1024},
    {"width": 1280, "height": 900},
)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for all."""
    with browsing() as opened:
        yield opened


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """One service for all; a person who types in fifty mistakes is quicker than most."""
    log = tmp_path_factory.mktemp("form") / "service.log"
    with serving(
        log, {"SHIN_WALL_VISITOR_RATE_LIMIT": "100000", "SHIN_WALL_RATE_LIMIT": "100000"}
    ) as running:
        yield running


def opened(context: BrowserContext, live: Live, path: str = "/form") -> tuple[Page, Watched]:
    """A page of the service, watched."""
    page = context.new_page()
    page.set_default_timeout(10_000)
    watched = Watched(page, (live.url,))
    page.goto(live.url + path)
    page.get_by_label(BAYS).wait_for()
    return page, watched


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A visitor with a phone, who reads English."""
    made = browser.new_context(viewport=PHONE, locale="en-US", has_touch=True)
    yield made
    made.close()


def priced(live: Live, spec: dict[str, Any] = SPEC) -> str:
    """The price of a spec, as the form writes it."""
    total = httpx2.post(f"{live.url}/v1/plans?parts=summary", json=spec, timeout=30).json()["summary"][
        "total"
    ]
    return f"${Decimal(total):,.2f}"


def fill(page: Page, bays: str = "12", spacing: str = "5 ft") -> None:
    """Answer what is needed."""
    page.get_by_label(BAYS).fill(bays)
    page.get_by_label(SPACING).fill(spacing)


def settled(page: Page) -> None:
    """Wait until what was typed last is answered: the pause before the question is over, and so is the question."""
    page.wait_for_timeout(420)
    page.wait_for_function(
        "() => !/Working/.test(document.querySelector('shin-wall-form').shadowRoot.querySelector('[role=status]').textContent)"
    )


def price_of(page: Page) -> Any:
    """Where the price stands."""
    return page.locator("shin-wall-form .price")


def assert_accessible(page: Page) -> None:
    """No violation in the page as it is now."""
    found = Axe().run(page, options=RULES).response["violations"]
    told = [(each["id"], [node["html"][:200] for node in each["nodes"]]) for each in found]
    assert told == []


def test_two_answers_give_the_price_and_a_drawing_that_lights_up(context: BrowserContext, live: Live) -> None:
    """The price is the service's; pointing at a line of the list lights its parts, and only them."""
    page, watched = opened(context, live)
    fill(page)
    expect(price_of(page)).to_have_text(priced(live))
    panel = page.locator(".drawing [data-part='left-1-panel-1']")
    panel.wait_for()
    page.get_by_role("button", name="twin-wall polycarbonate sheet").click()
    lit = page.locator(".drawing [data-part].lit")
    assert set(lit.evaluate_all("parts => parts.map(part => part.dataset.part.replace(/-.*-/, ' '))")) <= {
        f"{side} {number}" for side in ("left", "right") for number in range(1, 9)
    }
    assert lit.count() == 8
    panel.dispatch_event("pointerdown")
    expect(page.locator("figcaption")).to_contain_text("panel left-1-panel-1")
    assert watched.faults == []


def test_a_quote_is_saved_opened_again_and_told_to_the_page(context: BrowserContext, live: Live) -> None:
    """The event carries the token; another tab opens the link with the same price and answers; the packet is a PDF."""
    page, watched = opened(context, live)
    page.evaluate("addEventListener('shin-wall-quote', event => { window.heard = event.detail; })")
    fill(page, spacing="1524 mm")
    page.get_by_role("button", name="Save this price").click()
    expect(page.get_by_text("Saved as q-")).to_be_visible()
    heard = page.evaluate("window.heard")
    assert page.url.endswith(f"#quote={heard['token']}")
    packet = page.get_by_role("link", name="Building instructions").get_attribute("href") or ""
    assert httpx2.get(packet, timeout=60).content.startswith(b"%PDF-")
    other = context.new_page()
    other.goto(page.url)
    expect(other.get_by_text("Saved as q-")).to_be_visible()
    expect(other.get_by_label(SPACING)).to_have_value("60 in")
    expect(other.get_by_label(BAYS)).to_have_value("12")
    expect(price_of(other)).to_have_text(f"${Decimal(heard['quote']['total']):,.2f}")
    other.get_by_label(BAYS).fill("13")
    expect(other.get_by_text("Saved as q-")).to_be_hidden()
    assert "#" not in other.url
    assert watched.faults == []


def test_what_was_typed_outlives_going_away_and_coming_back(context: BrowserContext, live: Live) -> None:
    """Back button and reload keep the answers; a second tab has its own."""
    page, _ = opened(context, live)
    fill(page, bays="9")
    expect(price_of(page)).to_contain_text("$")
    page.goto(f"{live.url}/livez")
    page.go_back()
    expect(page.get_by_label(BAYS)).to_have_value("9")
    page.reload()
    expect(page.get_by_label(SPACING)).to_have_value("5 ft")
    expect(price_of(page)).to_contain_text("$")
    second, _ = opened(context, live)
    expect(second.get_by_label(BAYS)).to_have_value("")
    page.get_by_role("button", name="Start anew").click()
    expect(page.get_by_label(BAYS)).to_have_value("")


def test_a_door_is_added_moved_up_and_taken_out(context: BrowserContext, live: Live) -> None:
    """Entries keep their order; the price follows."""
    page, watched = opened(context, live)
    fill(page)
    plain = priced(live)
    expect(price_of(page)).to_have_text(plain)
    page.get_by_text("Doors through the side walls").click()
    for offset in ("20 ft 6 in", "30 ft 6 in"):
        page.get_by_role("button", name="Add a door").click()
        entry = page.get_by_role("group", name="Door").last
        entry.get_by_label("Where the door begins").fill(offset)
        entry.get_by_label("Clear width of the door").fill("4 ft")
    doors = [{"side": "left", "offset": offset, "width": "4 ft"} for offset in ("20 ft 6 in", "30 ft 6 in")]
    spec: dict[str, Any] = {**SPEC, "structure": {**SPEC["structure"], "openings": doors}}  # type: ignore[dict-item]  # a JSON object
    expect(price_of(page)).to_have_text(priced(live, spec))
    page.get_by_role("button", name="Take out this door").first.click()
    expect(page.get_by_label("Where the door begins")).to_have_value("30 ft 6 in")
    page.get_by_role("button", name="Take out this door").click()
    expect(price_of(page)).to_have_text(plain)
    assert watched.faults == []


MISTAKES: Final[tuple[tuple[str, str], ...]] = tuple(
    (field, text)
    for field, texts in {
        BAYS: ("0", "-3", "12.5", "12,5", "twelve", "6000", "1e3", "12 bays", "١٢", "NaN", "10000000000000000000", "12;"),
        SPACING: (
            "5", "4,0", "5ft3", "5 feets", "five feet", "0", "0 ft", "-4 ft", "50 ft", "1 in", "4 ft 13", "4'", "4''", "4’",
            "1,5 m", "5 km", "5 ft x 2", "NaN", "1e99 ft", "4 ft 6 1/0", "4 ft.", "½", "<b>5 ft</b>", "\u202e5 ft",
        ),
        "Height of the panels": (
            "24", "24 inch", "9 ft", "8 ft", "90 in", "1 in", "2,5 m", "600", "two feet", "-24 in", "61 cm", "0.6", "100 m", "24 in high",
        ),
        "How far the posts stand out of the ground": ("20", "20 m", "1 in", "10 ft"),
    }.items()
    for text in texts
)  # fmt: skip
"""What people type: no unit, a wrong one, a comma, words, too much, too little"""


def test_fifty_mistakes_end_in_a_working_form_and_a_sentence(context: BrowserContext, live: Live) -> None:
    """Each gives a price or a message beside its field that says more than that it is wrong; a suggestion taken works."""
    assert len(MISTAKES) >= 50
    page, watched = opened(context, live)
    fill(page)
    expect(price_of(page)).to_have_text(priced(live))
    helped = 0
    for field, text in MISTAKES:
        control = page.get_by_label(field)
        control.fill(text)
        control.blur()
        message = page.locator(".question", has=control).locator(".wrong")
        settled(page)
        if not price_of(page).inner_text().startswith("$"):
            said = message.inner_text()
            assert len(said) > len(field) + 15, (field, text, said)
            take = page.locator(".question", has=control).get_by_role("button")
            helped += take.count()
            for _ in range(3):
                if take.count():
                    take.first.click()
                    settled(page)
            assert price_of(page).inner_text().startswith("$") or not take.count(), (field, text)
        control.fill({BAYS: "12", SPACING: "5 ft"}.get(field, ""))
        expect(price_of(page)).to_have_text(priced(live))
    assert helped >= 10
    assert watched.faults == []


def test_an_impossible_door_is_told_where_it_could_stand(context: BrowserContext, live: Live) -> None:
    """A door over a post: the fault stands beside the door's own question, and the place that would work is a button."""
    page, watched = opened(context, live)
    fill(page)
    page.get_by_text("Doors through the side walls").click()
    page.get_by_role("button", name="Add a door").click()
    page.get_by_label("Where the door begins").fill("3 ft")
    page.get_by_label("Clear width of the door").fill("4 ft")
    page.get_by_label("Clear width of the door").blur()
    question = page.locator(".question", has=page.get_by_label("Where the door begins")).last
    expect(question.locator(".wrong")).to_contain_text("post")
    assert_accessible(page)
    question.get_by_role("button").click()
    expect(price_of(page)).to_contain_text("$")
    assert watched.faults == []


def test_stale_answers_are_dropped_on_a_slow_line(context: BrowserContext, live: Live) -> None:
    """The first answer arrives after the second was asked for; the price shown is that of what is typed."""
    page, _ = opened(context, live)
    held: list[Route] = []

    def hold_first(route: Route) -> None:
        if held or "/v1/plans" not in route.request.url:
            route.continue_()
        else:
            held.append(route)

    page.route("**/v1/plans*", hold_first)
    fill(page, bays="40")
    page.wait_for_function(
        "() => /Working/.test(document.querySelector('shin-wall-form').shadowRoot.querySelector('[role=status]').textContent)"
    )
    page.wait_for_timeout(500)
    assert held
    page.get_by_label(BAYS).fill("12")
    expect(price_of(page)).to_have_text(priced(live))
    held[0].abort()
    page.wait_for_timeout(300)
    expect(price_of(page)).to_have_text(priced(live))


def test_a_service_that_goes_away_loses_nothing(context: BrowserContext, live: Live) -> None:
    """The form says so, keeps what was typed, asks again by itself; too many questions wait as long as they are told."""
    page, _ = opened(context, live)
    fill(page)
    expect(price_of(page)).to_have_text(priced(live))
    page.route("**/v1/**", lambda route: route.abort("connectionrefused"))
    page.get_by_label(BAYS).fill("14")
    expect(page.get_by_text("cannot be reached")).to_be_visible()
    assert_accessible(page)
    expect(page.get_by_label(BAYS)).to_have_value("14")
    page.unroute("**/v1/**")
    expect(page.get_by_text("answers again")).to_be_visible()
    spec = {**SPEC, "structure": {"bays": 14, "bay_spacing": "5 ft"}}
    expect(price_of(page)).to_have_text(priced(live, spec))
    page.route(
        "**/v1/plans*",
        lambda route: route.fulfill(status=429, headers={"Retry-After": "1"}, body="{}"),
        times=1,
    )
    page.get_by_label(BAYS).fill("12")
    expect(page.get_by_text("in 1 s")).to_be_visible()
    expect(price_of(page)).to_have_text(priced(live))


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("screen", SCREENS, ids=lambda screen: str(screen["width"]))
def test_every_state_is_accessible(
    browser: Browser, live: Live, screen: ViewportSize, scheme: str, tmp_path: Path
) -> None:
    """Empty, with a fault, priced with all that can be unfolded, and saved: axe finds nothing; nothing is cut off."""
    made = browser.new_context(viewport=screen, locale="en-US", color_scheme=scheme)  # type: ignore[arg-type]  # a text of the two
    try:
        page, watched = opened(made, live)
        assert_accessible(page)
        fill(page, spacing="5")
        page.get_by_label(SPACING).blur()
        expect(page.get_by_role("button", name="Use 5 ft")).to_be_visible()
        assert_accessible(page)
        page.get_by_role("button", name="Use 5 ft").click()
        page.locator(".drawing svg").wait_for()
        page.evaluate(
            "document.querySelector('shin-wall-form').shadowRoot.querySelectorAll('details').forEach(each => { each.open = true; })"
        )
        page.get_by_role("button", name="Add a door").click()
        page.get_by_role("button", name="Take out this door").click()
        expect(price_of(page)).to_have_text(priced(live))
        page.get_by_role("button", name="Show what would cost less").click()
        page.get_by_role("button", name="Save this price").click()
        expect(page.get_by_text("Saved as q-")).to_be_visible()
        assert_accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= screen["width"]
        page.screenshot(path=tmp_path / "saved.png", full_page=True)
        assert watched.faults == []
    finally:
        made.close()


@pytest.mark.parametrize(("locale", "bays", "spacing"), [("es-ES", "12", "1,5 m"), ("fr-FR", "12", "1,5 m")])
def test_other_languages_and_their_commas(
    browser: Browser, live: Live, locale: str, bays: str, spacing: str
) -> None:
    """Metric by country; the decimal comma is read; no English word of the form is left."""
    made = browser.new_context(viewport=PHONE, locale=locale)
    try:
        page = made.new_page()
        watched = Watched(page, (live.url,))
        page.goto(f"{live.url}/form")
        fields = page.locator("shin-wall-form .question input")
        fields.nth(0).fill(bays)
        fields.nth(1).fill(spacing)
        expect(price_of(page)).to_contain_text("US")
        assert page.locator("input[value=metric]").is_checked()
        assert not re.search(r"\b(the|and|of|with)\b", page.locator("shin-wall-form form").inner_text())
        assert_accessible(page)
        assert watched.faults == []
    finally:
        made.close()


def test_by_keyboard_alone_and_from_right_to_left(context: BrowserContext, live: Live) -> None:
    """Tab, type and Enter reach a saved quote; a page that runs from right to left neither breaks nor scrolls sideways."""
    page, _ = opened(context, live)
    page.evaluate(
        "document.documentElement.dir = 'rtl'; document.querySelector('shin-wall-form').setAttribute('units', 'metric')"
    )
    page.get_by_label(BAYS).wait_for()
    page.locator("input[value=metric]").focus()
    page.keyboard.press("Tab")
    page.keyboard.type("12")
    page.keyboard.press("Tab")
    page.keyboard.type("1.5 m")
    expect(price_of(page)).to_contain_text("$")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.shadowRoot?.activeElement?.part.contains('save')"):
            break
    page.keyboard.press("Enter")
    expect(page.get_by_text("Saved as q-")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert_accessible(page)


def test_key_press_to_price_is_told(context: BrowserContext, live: Live, record_property: Any) -> None:
    """The figures of the form: requests and time from the last key to the price, beside the plan's own time; nothing is timed out."""
    page, watched = opened(context, live)
    fill(page)
    expect(price_of(page)).to_contain_text("$")
    before = len(watched.requests)
    page.evaluate("addEventListener('shin-wall-price', () => { window.at = performance.now(); })")
    start = page.evaluate("performance.now()")
    page.get_by_label(BAYS).press_sequentially("3")
    page.wait_for_function("() => window.at !== undefined")
    took = page.evaluate("window.at") - start
    asked = [url for url in watched.requests[before:] if "/v1/" in url]
    record_property("milliseconds", json.dumps(took))
    assert {url.partition("?")[0].rpartition("/")[2] for url in asked} <= {"plans", "drawings"}
    assert len(asked) <= 2
