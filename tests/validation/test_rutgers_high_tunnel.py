"""Rutgers New Jersey Agricultural Experiment Station, horticultural engineering: high tunnel construction.

A 17 x 36 ft tunnel with posts 4 ft apart has 20 posts and 10 bows.
"""

import pytest

from service.planner.asked.spec import Structure
from service.planner.units import FOOT
from service.planner.wall.runs import lay_runs
from tests.planner.walls import example_a_job


def test_posts_of_the_published_tunnel() -> None:
    """36 ft at 4 ft: 36 / 4 + 1 = 10 posts a side, 20 in all."""
    runs, _ = lay_runs(example_a_job(Structure(bays=9, bay_spacing=4 * FOOT, width=17 * FOOT)))
    assert [len(run.supports) for run in runs] == [10, 10]
    assert {run.supports[-1].x for run in runs} == {36 * FOOT}


@pytest.mark.parametrize(("length", "posts"), [(96, 25), (44, 12), (140, 36)])
def test_the_same_rule_at_other_lengths(length: int, posts: int) -> None:
    """The same rule: one post more than bays, at 96 ft and other lengths of 4 ft bays."""
    runs, _ = lay_runs(example_a_job(Structure(bays=length // 4, bay_spacing=4 * FOOT)))
    assert all(len(run.supports) == posts for run in runs)
