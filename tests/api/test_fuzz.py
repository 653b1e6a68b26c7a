"""A short run of the body fuzzer; the long one is a command (`python -m tests.api.fuzz_bodies --count 1000000`)."""

import pytest

from tests.api.fuzz_bodies import GROWTH, run
from tests.api.live import serving


def test_malformed_bodies_are_refused_without_a_fault(tmp_path_factory: pytest.TempPathFactory) -> None:
    """OWASP API4: no 5xx, every refusal a problem document, nothing in the log, memory steady."""
    log = tmp_path_factory.mktemp("fuzz") / "log"
    with serving(log, {"SHIN_WALL_LOG_LEVEL": "ERROR"}) as live:
        tally, (_, between, after) = run(live, seed=20261124, count=2000)
    assert not tally.failures, tally.failures
    assert sum(tally.statuses.values()) == 2000
    assert {400, 413, 422} <= set(tally.statuses)
    assert after - between < GROWTH
    assert log.read_text() == ""
