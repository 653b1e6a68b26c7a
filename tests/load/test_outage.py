"""The short form of the load with outages."""

from __future__ import annotations

import asyncio

import pytest

from tests.load.outage import run


def test_plans_go_on_while_the_catalog_server_is_killed_and_restarted_twice(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """No plan request fails, none waits long, publishing is refused to be repeated, and all is well again afterwards.

    The wait allows for a machine that other work shares; without that work plans wait a small part of it.
    """
    outage = asyncio.run(run(seconds=6.0, workers=2, callers=4))
    with capsys.disabled():
        print("", *outage.lines(), sep="\n  ")  # noqa: T201 - the figures are to be seen
    assert not outage.failed
    assert len(outage.waits) > 50
    assert outage.degraded > 0
    assert max(outage.waits) < 3.0
    assert set(outage.published) <= {"200", "503, to be repeated"}
    assert outage.published["503, to be repeated"] > 0
    assert outage.recovered < 5.0
