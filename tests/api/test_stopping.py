"""A stop that works: whoever leaves, or waits too long, frees the thread that worked for them.

The work is a cut list that would go on for minutes with the units that it is given here.
"""

import re
import time
from collections.abc import Iterator
from typing import Any, Final

import httpx2
import pytest

from tests.api.live import Live, serving

ENDLESS: Final = {"SHIN_WALL_CUT_LIST_UNITS": "1000000000", "SHIN_WALL_SOLVER_THREADS": "1"}
BOUND: Final = 20.0
"""What a busy test machine may take to stop work that would go on for minutes [s]"""


def long_list(number: int = 0) -> dict[str, Any]:
    """A cut list that takes long: many lengths, stocks limited in number."""
    return {
        "kerf_mm": 3 + number / 10,
        "demand": [{"length_mm": 300 + round(7.3 * at, 1), "count": 40} for at in range(150)],
        "stock": [
            {"length_mm": 2400 + 310 * at, "price": f"{20 + 3 * at}.00", "count": 400} for at in range(12)
        ],
    }


@pytest.fixture
def slow(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Iterator[Live]:
    """A service that gives cut lists a thousand seconds of work."""
    seconds = getattr(request, "param", "300")
    with serving(
        tmp_path_factory.mktemp("slow") / "log", ENDLESS | {"SHIN_WALL_ANSWER_SECONDS": seconds}
    ) as live:
        yield live


def gauge(live: Live, name: str) -> float:
    """Read a gauge."""
    found = re.search(rf"^{name} (\S+)$", httpx2.get(f"{live.url}/metrics", timeout=BOUND).text, re.MULTILINE)
    assert found, name
    return float(found[1])


def wait_for(live: Live, running: float) -> None:
    """Wait until so many threads work."""
    until = time.monotonic() + BOUND
    while gauge(live, "shin_wall_work_running") != running:
        assert time.monotonic() < until, f"not {running} after {BOUND} s"
        time.sleep(0.05)


def test_a_caller_that_leaves_frees_the_thread(slow: Live) -> None:
    """One at work and one in line leave; the thread rests, and the next caller is answered."""
    for number in (1, 2):
        with pytest.raises(httpx2.TimeoutException):
            httpx2.post(f"{slow.url}/v1/cut-lists", json=long_list(number), timeout=1.5)
    wait_for(slow, 0)
    assert gauge(slow, "shin_wall_work_accepted") == 0
    plan = {"structure": {"bays": 3, "bay_spacing": "4 ft"}, "wall": {"panel_thickness": "8 mm"}}
    assert httpx2.post(f"{slow.url}/v1/plans", json=plan, timeout=BOUND).status_code == 200
    assert "caller_left" in slow.log.read_text()
    assert '"fault"' not in slow.log.read_text()


@pytest.mark.parametrize("slow", ["1.5"], indirect=True)
def test_an_answer_that_is_too_late_is_a_problem(slow: Live) -> None:
    """The operator's limit: 504 that names it, and the thread is free again."""
    answer = httpx2.post(f"{slow.url}/v1/cut-lists", json=long_list(), timeout=BOUND)
    assert (answer.status_code, answer.json()["type"]) == (504, "/problems/too-late")
    assert "1.5 s" in answer.json()["detail"]
    wait_for(slow, 0)
