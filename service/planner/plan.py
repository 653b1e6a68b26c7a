"""The pipeline: a spec and a catalog in, a complete plan out.

Rules of this file
------------------
- It reads as the order of the stages; every rule stands in the stage that it belongs to.
- A plan is a function of spec, catalog revision and planner version alone.
"""

from collections.abc import Callable, Collection, Mapping
from functools import partial
from hashlib import sha256
from typing import Final

import orjson

from service.planner.answer.cutting_rendering import render_cutting
from service.planner.answer.drilling_rendering import render_drilling
from service.planner.answer.layout_rendering import render_layout
from service.planner.answer.rendering import (
    render_bill,
    render_checks,
    render_notices,
    render_schedule,
    render_steps,
)
from service.planner.answer.shapes import PARTS, CatalogRef, Part, Plan, Summary
from service.planner.asked.catalog import Catalog
from service.planner.asked.identity import normalised
from service.planner.asked.roles import COURSE_MATERIALS, ROLES
from service.planner.asked.settle import Job, settle
from service.planner.asked.spec import Spec
from service.planner.asked.suggestions import tried_out
from service.planner.bill.pricing import price
from service.planner.bill.takeoff import Need, by_others, take_off
from service.planner.errors import SpecError
from service.planner.fastening.drilling import templates
from service.planner.fastening.schedule import schedule
from service.planner.fields import money_text
from service.planner.judging.checks.table import run_checks, worst
from service.planner.judging.facts import Facts
from service.planner.judging.notices import find_notices
from service.planner.messages import Counted, Length, Money, Number, say
from service.planner.nouns import JOINT, RUN
from service.planner.records import record
from service.planner.sequencing.order import install_sequence
from service.planner.solver.courses.least_cost import warm_up as warm_up_courses
from service.planner.solver.cuts.cut_lists import solve_cut_list
from service.planner.solver.cuts.problem import CutDemand, CutListProblem, CutStock
from service.planner.solver.effort import Effort
from service.planner.units import to_millimetres
from service.planner.wall.assembly import lay_out
from service.planner.wall.runs import lay_runs
from service.planner.wall.whole_sheets import LaidPanel, leave_whole
from service.planner.writing import ENGLISH, Language, Writer

PLAN_UNITS: Final = 3_000_000
"""What a plan may take where nothing else is said, about a microsecond each [units]"""
PLANNER_VERSION: Final = "1.1.0"
"""Changes whenever the same spec and catalog could give another plan"""


def warm_up() -> None:
    """Use everything that is compiled, so that nothing is left to be when the first question comes."""
    warm_up_courses()
    panel = LaidPanel(room=98, length=98, sheet=99, tolerance=3)
    leave_whole((panel, panel), 1)
    demand = (CutDemand(length=6, count=3), CutDemand(length=1, count=1))
    solve_cut_list(CutListProblem(stock=(CutStock(length=10, price=1),), demand=demand, kerf=0))
    demand = (CutDemand(length=6, width=6, count=3), CutDemand(length=3, width=4, count=2))
    solve_cut_list(CutListProblem(stock=(CutStock(length=10, width=10, price=1),), demand=demand, kerf=0))


@record
class Worked:
    """A plan as far as everything that it costs: what is rendered, judged, sequenced or ordered from here."""

    facts: Facts
    """Job, layout, schedule and bill"""
    needs: tuple[Need, ...]
    """The take-off, before packs"""


def work_out(spec: Spec, catalog: Catalog, effort: Effort | None = None) -> Worked:
    """Work out what a wall is made of and what it costs, without steps, checks and words.

    Parameters
    ----------
    spec
        The structure spec.
    catalog
        The dealer's catalog.
    effort
        Counter of units; as many as a plan usually has where it is left out.

    Raises
    ------
    SpecError
        When the spec contradicts itself or cannot be built; the leaf says which way.
    """
    effort = effort or Effort(PLAN_UNITS)
    try:
        return _worked(catalog, effort, spec)
    except SpecError as error:
        raise type(error)(error.detail, tried_out(spec, error, partial(_worked, catalog, effort))) from None


def _worked(catalog: Catalog, effort: Effort, spec: Spec) -> Worked:
    """Go through the stages as far as anything can be refused."""
    job = settle(spec, catalog)
    runs, openings = lay_runs(job)
    layout = lay_out(job, runs, effort)
    rows = schedule(job, layout)
    needs = take_off(job, layout, rows)
    return Worked(
        facts=Facts(job=job, layout=layout, openings=openings, rows=rows, bill=price(needs)), needs=needs
    )


def make_plan(  # a plan is a function of each of these
    spec: Spec,
    catalog: Catalog,
    revision: str,
    language: Language = ENGLISH,
    effort: Effort | None = None,
    parts: Collection[Part] = PARTS,
) -> Plan:
    """Plan a shin wall.

    Parameters
    ----------
    spec
        The structure spec.
    catalog
        The dealer's catalog.
    revision
        Content address of that catalog.
    language
        The language of its texts; nothing else depends on it.
    effort
        Counter of units; as many as a plan usually has where it is left out.
    parts
        The parts that are wanted; nothing is done for others.

    Returns
    -------
        The plan as plain values.

    Raises
    ------
    SpecError
        When the spec contradicts itself or cannot be built; the leaf says which way.
    """
    return render_plan(work_out(spec, catalog, effort), revision, language, parts)


def render_plan(
    worked: Worked, revision: str, language: Language = ENGLISH, parts: Collection[Part] = PARTS
) -> Plan:
    """Render what was worked out.

    Parameters
    ----------
    worked
        What a wall is made of and what it costs.
    revision
        Content address of its catalog.
    language
        The language of its texts.
    parts
        The parts that are wanted; nothing is done for others.
    """
    spec, catalog = worked.facts.job.spec, worked.facts.job.catalog
    writer = Writer(language, spec.display_units)
    plan = Plan(
        plan_id=plan_id(worked.facts.job, revision),
        planner_version=PLANNER_VERSION,
        reference=spec.reference,
        catalog=CatalogRef(
            id=spec.catalog, revision=revision, title=catalog.document.title, note=catalog.document.note
        ),
        display_units=spec.display_units,
    )
    made = {part: make(worked, writer) for part, make in _MAKERS.items() if part in parts}
    if "summary" in parts:
        plan["summary"] = _summary(worked.facts, writer)
    for part, (answer, summed) in made.items():
        plan[part] = answer  # type: ignore[typeddict-item]  # the table's keys are the plan's
        if "summary" in parts:
            plan["summary"].update(summed)  # type: ignore[typeddict-item]  # see the table
    return plan


_Made = tuple[object, Mapping[str, object]]
"""A part, and what it adds to the summary"""


def _render_steps(worked: Worked, writer: Writer) -> _Made:
    facts = worked.facts
    steps = install_sequence(facts.job, facts.layout, facts.rows, worked.needs)
    return render_steps(steps, writer), {"minutes": sum(step.minutes for step in steps)}


def _render_checks(worked: Worked, writer: Writer) -> _Made:
    checks = run_checks(worked.facts)
    return render_checks(checks, writer), {"outcome": worst(checks)}


def _alone(render: Callable[[Facts, Writer], object]) -> Callable[[Worked, Writer], _Made]:
    return lambda worked, writer: (render(worked.facts, writer), {})


_MAKERS: Final[Mapping[Part, Callable[[Worked, Writer], _Made]]] = {
    "layout": _alone(lambda facts, writer: render_layout(facts.job, facts.layout, facts.openings, writer)),
    "cutting": _alone(lambda facts, _: render_cutting(facts.job, facts.layout.cuttings)),
    "bill_of_materials": _alone(
        lambda facts, writer: render_bill(
            facts.job, facts.bill, by_others(facts.job, facts.layout, facts.rows), writer
        )
    ),
    "fastener_schedule": _alone(
        lambda facts, writer: render_schedule(facts.job, facts.layout, facts.rows, writer)
    ),
    "drilling": _alone(
        lambda facts, _: render_drilling(facts.job, templates(facts.job, facts.layout, facts.rows))
    ),
    "install_sequence": _render_steps,
    "checks": _render_checks,
    "notices": _alone(lambda facts, writer: render_notices(find_notices(facts), writer)),
}
"""How each part but the summary is made, and what it adds to the summary; in the order of the answer"""


def plan_id(job: Job, revision: str) -> str:
    """The identity of a plan: a digest of the whole question, so that nothing can be left out of it.

    Parameters
    ----------
    job
        The settled job: lengths in nanometres, defaults filled in.
    revision
        Content address of the catalog.
    """
    question = {
        "planner": PLANNER_VERSION,
        "catalog": revision,
        "spec": normalised(job),
    }
    return f"p-{sha256(orjson.dumps(question)).hexdigest()[:32]}"


def _summary(facts: Facts, writer: Writer) -> Summary:
    """Sum a plan up."""
    job, layout, bill = facts.job, facts.layout, facts.bill
    panels = sum(len(wall.panels) for wall in layout.walls)
    joints = sum(len(wall.joints) for wall in layout.walls)
    sheets = sum(line.required for line in bill.lines if line.item.part.role == "sheet")
    length = sum(run.supports[-1].x for run in layout.runs)
    courses = [cutting for cutting in layout.cuttings if cutting.role in COURSE_MATERIALS]
    currency = job.catalog.document.currency
    objective = sum(cutting.objective for cutting in courses)
    return Summary(
        headline=writer.told(
            say(
                "plan.headline",
                "{wall} of wall in {runs}: {panels} and {joints} from {sheets}; {total}, {mass} kg.",
                wall=Length(length),
                runs=Counted(len(layout.runs), RUN),
                panels=Counted(panels, ROLES["panel"].noun),
                joints=Counted(joints, JOINT),
                sheets=Counted(sheets, ROLES["sheet"].noun),
                total=Money(bill.total, currency),
                mass=Number(bill.total_mass_kg, 0),
            )
        ),
        wall_length_mm=to_millimetres(length),
        panels=panels,
        panel_joints=joints,
        sheets=sheets,
        total=money_text(bill.total),
        total_is=writer.told(
            say(
                "plan.total_is",
                "The total, {total}, is the sum of the bill's lines: whole packs, each line at the price for so many packs. Tax and freight are not in it.",
                total=Money(bill.total, currency),
            )
        ),
        currency=currency,
        total_mass_kg=round(bill.total_mass_kg, 3),
        longest_mm=to_millimetres(bill.longest),
        objective=money_text(objective),
        objective_is=writer.told(
            say(
                "plan.objective_is",
                "The objective, {objective}, is what layout and cutting were chosen by: the sheets, baseboards and top channel that are opened, at the price of"
                " a single pack; {joint} for each panel joint; {metal_joint} for each joint in metal; {cut} for each crosscut.",
                objective=Money(objective, currency),
                joint=Money(job.joint_cost, currency),
                metal_joint=Money(job.metal_joint_cost, currency),
                cut=Money(job.cut_cost, currency),
            )
        ),
        proven_optimal=all(cutting.proven_optimal for cutting in layout.cuttings),
    )
