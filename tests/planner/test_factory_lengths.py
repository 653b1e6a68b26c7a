"""Sheets left whole: drift within the bearing of the post, fewest trims.

Rules: common practice, no source. The bearing tolerance of a round post is 0.17 of its width (R sin 20 deg).
"""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from service.planner.units import INCH, SIXTEENTH
from service.planner.wall.whole_sheets import LaidPanel, PlacedPanel, leave_whole

GAP = 9 * SIXTEENTH
SHEET = 144 * INCH


def laid(room: int, *, sheet: int | None = SHEET, tolerance: int = 8 * INCH // 25) -> LaidPanel:
    """Lay a panel in a room, rounded down to a sixteenth."""
    return LaidPanel(room=room, length=room // SIXTEENTH * SIXTEENTH, sheet=sheet, tolerance=tolerance)


END, MIDDLE = SHEET - GAP // 2, SHEET - GAP


def drifts_follow(panels: list[LaidPanel], placed: tuple[PlacedPanel, ...]) -> None:
    """Recompute every drift from the lengths; what rounding took off a panel cut as laid stays in its gap."""
    drift = 0
    for panel, place in zip(panels, placed, strict=True):
        last = panel is panels[-1]
        over = drift + place.length - panel.room
        if last:
            assert -SIXTEENTH < over <= 0
            return
        assert place.drift in (over, drift if place.length == panel.length else over)
        assert abs(place.drift) <= panel.tolerance
        drift = place.drift


def test_every_other_sheet_stays_whole_on_four_foot_bays() -> None:
    """12 ft sheets on three 4 ft bays drift 9/16 in each, within 0.32 in: a trim to -9/32 earns the next its +9/32."""
    panels = [laid(END), *[laid(MIDDLE)] * 4, laid(END)]
    placed = leave_whole(panels, SIXTEENTH)
    assert sum(panel.whole for panel in placed) == 3
    drifts_follow(panels, placed)


def test_without_tolerance_every_sheet_is_trimmed() -> None:
    """A joint that may not drift leaves no sheet whole."""
    placed = leave_whole(
        [laid(END, tolerance=0), laid(MIDDLE, tolerance=0), laid(END, tolerance=0)], SIXTEENTH
    )
    assert [(panel.whole, panel.drift) for panel in placed] == [(False, 0)] * 3


def test_panels_that_share_a_strip_keep_their_length() -> None:
    """Only pieces alone in their strip change."""
    panels = [laid(END), laid(MIDDLE, sheet=None), laid(END)]
    placed = leave_whole(panels, SIXTEENTH)
    assert placed[1].length == panels[1].length
    drifts_follow(panels, placed)


def test_a_flush_sheet_is_whole_where_it_lies() -> None:
    """A panel as long as its sheet was never cut."""
    assert leave_whole([laid(SHEET)], SIXTEENTH) == (PlacedPanel(length=SHEET, whole=True, drift=0),)


sizes = st.integers(min_value=120 * 16, max_value=144 * 16).map(lambda n: n * SIXTEENTH)


@given(st.lists(st.tuples(sizes, st.booleans()), min_size=1, max_size=7), st.integers(0, 16))
def test_joints_stay_on_their_posts_and_no_sheet_is_exceeded(
    rooms: list[tuple[int, bool]], sixteenths: int
) -> None:
    """Whatever the bays: drift within tolerance, length within the sheet, the run's ends where they are."""
    panels = [
        laid(room, sheet=SHEET if alone else None, tolerance=sixteenths * SIXTEENTH) for room, alone in rooms
    ]
    placed = leave_whole(panels, SIXTEENTH)
    assert all(place.length <= SHEET for place in placed)
    assert all(
        place.length == panel.length
        for place, panel in zip(placed, panels, strict=True)
        if panel.sheet is None
    )
    assert all(
        place.whole == (panel.sheet == place.length) for place, panel in zip(placed, panels, strict=True)
    )
    drifts_follow(panels, placed)


def most_whole(panels: list[LaidPanel]) -> int:
    """Count the most sheets that can stay whole, by trying every choice with every drift on the sixteenth."""
    best = 0
    step = SIXTEENTH
    reach = range(-panels[0].tolerance // step, panels[0].tolerance // step + 1)
    states = {0: 0}
    for panel in panels[:-1]:
        reached: dict[int, int] = {}
        for (drift, whole), end in product(states.items(), reach):
            length = panel.room + end * step - drift
            if panel.sheet is None or abs(end * step) > panel.tolerance or not 0 < length <= panel.sheet:
                continue
            count = whole + (length == panel.sheet)
            reached[end * step] = max(reached.get(end * step, -1), count)
        if panel.sheet is None:
            reached = dict(states)
        states = reached
    for drift, whole in states.items():
        length = panels[-1].room - drift
        if panels[-1].sheet is not None and length <= panels[-1].sheet:
            best = max(best, whole + (length == panels[-1].sheet))
        elif panels[-1].sheet is None and not drift:
            best = max(best, whole)
    return best


near = st.integers(min_value=-8, max_value=8).map(lambda n: SHEET + n * SIXTEENTH)


@given(st.lists(st.tuples(sizes | near, st.booleans()), min_size=2, max_size=5), st.integers(0, 5))
def test_no_other_choice_leaves_more_sheets_whole(rooms: list[tuple[int, bool]], sixteenths: int) -> None:
    """Trying every drift on the sixteenth finds no way with fewer trims."""
    panels = [
        laid(room, sheet=SHEET if alone else None, tolerance=sixteenths * SIXTEENTH) for room, alone in rooms
    ]
    assert sum(place.whole for place in leave_whole(panels, SIXTEENTH)) >= most_whole(panels)
