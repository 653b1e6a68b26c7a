"""Where rope hooks go: evenly in their bay, clear of posts, laps, plates and jambs (common practice, no source)."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from service.planner.asked.catalog import Catalog
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.settle import Job
from service.planner.asked.spec import Opening, Options, RopeHooks, Structure
from service.planner.units import FOOT, INCH, MILLIMETRE
from service.planner.wall.hooks import bays_without, hang_hooks
from service.planner.wall.layout import Hook, Piece, Plate, Run
from service.planner.wall.runs import lay_runs
from tests.planner.scenarios import demo_catalog, example_a_document, with_part
from tests.planner.walls import every, example_a_job, example_a_wall, lay_courses, lay_wall


def _job(spacing: int, structure: Structure | None = None, catalog: Catalog | None = None) -> Job:
    """Settle two bays of 4 ft with a hook spacing."""
    two_bays = Structure(bays=2, bay_spacing=4 * FOOT, sides=("left",))
    return example_a_job(structure or two_bays, Options(rope_hooks=RopeHooks(spacing=spacing)), catalog)


def _plain(job: Job) -> tuple[Hook, ...]:
    """Hang hooks on a run without laps and plates."""
    run = lay_runs(job)[0][0]
    return tuple(hang_hooks(job, run, (), ()))


def test_one_hook_hangs_in_the_middle_of_each_bay_of_the_hand_solved_tunnel() -> None:
    """24 in from the posts, 3 in up a 6 in board, none moved: laps end 1.5 in and plates 3 in from the posts."""
    hooks = example_a_wall().hooks
    assert [h.x for h in hooks[:22]] == [(24 + 48 * bay) * INCH for bay in range(22)]
    assert {(h.z, h.moved) for h in hooks} == {(3 * INCH, 0)}


def test_no_curtain_no_hooks() -> None:
    """Where the sides do not roll up nothing billows, and null asks for none."""
    fixed = Structure(bays=22, bay_spacing=4 * FOOT, roll_up_sides=False)
    assert not example_a_wall(example_a_job(fixed)).hooks
    assert not example_a_wall(example_a_job(options=Options(rope_hooks=None))).hooks


def test_a_spacing_spreads_hooks_evenly_in_a_bay() -> None:
    """Bay of 48 in, at most 18 in apart: 3 hooks at 1/6, 3/6 and 5/6 of the bay."""
    hooks = _plain(_job(18 * INCH))
    assert [h.x // INCH for h in hooks] == [8, 24, 40, 56, 72, 88]
    assert [h.bay for h in hooks] == [0, 0, 0, 1, 1, 1]


def test_a_hook_beside_a_lap_moves_just_clear_of_it() -> None:
    """8 hooks in 48 in: the first at 3 in clears a bare post by 3 in, but a lap's end needs 1.5 + 3 = 4.5 in."""
    job = _job(6 * INCH)
    run = lay_runs(job)[0][0]
    boards = lay_courses(job, every(1), every(1), every(1)).walls[0].boards
    hooks = tuple(hang_hooks(job, run, boards, ()))
    # in the second bay the first hook moves away from the lap at 48 in, in the first bay the last one does
    assert [h.moved for h in hooks] == [0] * 7 + [-3 * INCH // 2, 3 * INCH // 2] + [0] * 7


def test_a_hook_beside_a_jamb_clears_its_face() -> None:
    """A 38 mm stud: the hook stays 19 mm + 3 in from its centre."""
    structure = Structure(
        bays=3,
        bay_spacing=4 * FOOT,
        sides=("left",),
        openings=(Opening(side="left", offset=9 * FOOT, width=2 * FOOT),),
    )
    job = _job(6 * INCH, structure, demo_catalog())
    run = lay_runs(job)[0][0]
    stud = run.supports[-1]
    last = tuple(hang_hooks(job, run, (), ()))[-1]
    assert stud.x - last.x == 19 * MILLIMETRE + 3 * INCH
    assert last.moved < 0


def test_a_bay_without_room_goes_without_hooks() -> None:
    """A plate of 12 in on each post leaves nothing of a 14 in bay: 14 - 2 x (6 + 3) is less than none."""
    catalog = read_catalog(with_part(example_a_document(), "plate", length="12 in"))
    structure = Structure(bays=2, bay_spacing=14 * INCH, sides=("left",))
    job = example_a_job(structure, catalog=catalog)
    layout = lay_wall(job, lay_courses(job, every(1), every(1), every(1)))
    assert not layout.hooks
    assert bays_without(job, layout.walls[0]) == [0, 1]


def _obstacles(
    job: Job, run: Run, boards: tuple[Piece, ...], plates: tuple[Plate, ...]
) -> list[tuple[int, int]]:
    """List every stretch that hooks keep clear of, one by one [nm]."""
    found = [(s.x, s.x) for s in run.supports]
    found += [(s.x - s.width // 2, s.x + s.width // 2) for s in run.supports if s.kind == "jamb"]
    found += [(after.x_start, before.x_end) for before, after in pairwise(boards)]
    half = job.plate.part.length // 2
    found += [(run.supports[p.support].x - half, run.supports[p.support].x + half) for p in plates]
    return found


@given(
    bays=st.lists(st.integers(12, 144), min_size=1, max_size=8),
    spacing=st.integers(6, 72),
    laps=st.integers(1, 3),
    joints=st.integers(1, 3),
)
def test_hooks_clear_everything_and_move_no_farther_than_they_must(
    bays: list[int], spacing: int, laps: int, joints: int
) -> None:
    """A hook is 3 in from all of it; between where it was and where it went nothing clears."""
    stations = tuple(sum(bays[:number]) * INCH for number in range(len(bays) + 1))
    job = _job(spacing * INCH, Structure(stations=stations, sides=("left",)))
    courses = lay_courses(job, every(1), every(laps), every(joints))
    layout = lay_wall(job, courses)
    stretches = _obstacles(job, layout.runs[0], layout.walls[0].boards, layout.plates)

    def clear(x: int) -> bool:
        return all(max(start - x, x - end) >= 3 * INCH for start, end in stretches)

    for hook in layout.hooks:
        start, end = stations[hook.bay], stations[hook.bay + 1]
        assert start < hook.x < end
        assert clear(hook.x)
        # nearer to its even place nothing clears
        nearer = range(1, abs(hook.moved) // MILLIMETRE)
        back = -1 if hook.moved > 0 else 1
        assert not any(clear(hook.x + back * step * MILLIMETRE) for step in nearer)
    for bay in bays_without(job, layout.walls[0]):
        assert not any(clear(x) for x in range(stations[bay], stations[bay + 1], MILLIMETRE))


@given(bay=st.integers(24, 144), spacing=st.integers(6, 144))
def test_a_bay_has_just_enough_hooks_for_the_spacing(bay: int, spacing: int) -> None:
    """As many as keep hooks within the spacing, and one fewer would not."""
    job = _job(spacing * INCH, Structure(bays=1, bay_spacing=bay * INCH, sides=("left",)))
    count = len(_plain(job))
    assert count * spacing >= bay
    assert (count - 1) * spacing < bay
