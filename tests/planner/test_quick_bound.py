"""What is counted before anything is solved: slots as arrays, and where counting says something at all."""

from service.planner.solver.courses.arrays import slot_arrays, stock_arrays
from service.planner.solver.courses.problem import CourseProblem, Stock
from service.planner.solver.courses.quick_bound import counted
from service.planner.solver.courses.runs import CourseRun
from service.planner.solver.courses.strips import Supply
from tests.planner.small_programs import endless, model_of


def test_a_slot_has_room_for_its_longest_piece_and_may_hold_a_shorter_one() -> None:
    """Lengths 70 and 66 share a slot of 70, 40 has its own in the other height class; a kerf of 3 with each, by hand."""
    arrays = slot_arrays([(66, 0), (40, 1), (70, 0)], [0, 1, 0], [70, 40], 3)
    assert arrays.of.tolist() == [0, 1, 0]
    assert arrays.rooms.tolist() == [73, 43]
    assert arrays.classes.tolist() == [0, 1]
    assert arrays.shortest.tolist() == [69, 43]


def test_stock_is_listed_with_its_rips_and_what_they_give() -> None:
    """Two kinds of stock: one ripped in two ways, the other limited; starts and ends by hand."""
    supplies = [
        Supply(stock=0, price=21, count=None, rips=(((0, 2),), ((0, 1), (1, 3)))),
        Supply(stock=1, price=9, count=4, rips=(((1, 1),),)),
    ]
    arrays = stock_arrays([(96, 0), (96, 1)], supplies, 3)
    assert arrays.strips.tolist() == [99, 99]
    assert arrays.strip_classes.tolist() == [0, 1]
    assert (arrays.prices.tolist(), arrays.counts.tolist()) == ([21, 9], [-1, 4])
    assert (arrays.rips.tolist(), arrays.yields.tolist()) == ([0, 2, 3], [0, 1, 3, 4])
    assert arrays.given.tolist() == [[0, 2], [0, 1], [1, 3], [1, 1]]


def test_counting_says_nothing_where_a_sheet_may_be_ripped_in_several_ways() -> None:
    """Two heights come out of a sheet in three ways; one height in one, where a bound and a plan are found."""
    runs = tuple(
        CourseRun(positions=tuple(range(0, 700, 100)), joint_deductions=(2,) * 7, height_class=own)
        for own in (0, 1)
    )
    sheet = (Stock(key="sheet", length=400, width=130, price=50),)
    both = CourseProblem(runs=runs, heights=(40, 60), stock=sheet, kerf=3, grid=1, joint_cost=5, cut_cost=2)
    one = CourseProblem(runs=runs[:1], heights=(40,), stock=sheet, kerf=3, grid=1, joint_cost=5, cut_cost=2)
    assert counted(model_of(both).program, endless()) is None
    found = counted(model_of(one).program, endless())
    assert found is not None
    plan, bound = found
    assert plan is not None
    assert plan.cost >= bound > 0
