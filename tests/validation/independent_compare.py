"""Comparing a plan with the second count, part by part.

What lives here: what is compared and what a difference says. Lengths agree to 2 micrometres, since answers are
printed to one.
"""

import math
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from tests.validation.independent_count import (
    WASHERED,
    Movement,
    batten_length,
    board_length,
    cap_length,
    channel_length,
    elevations,
    hooks,
    joints_of,
    movement,
    panel_cover,
    panel_length,
    plates,
    profile_length,
    ripped,
    screws_by_place,
    tape,
    upright_length,
)
from tests.validation.independent_cutting import sawn
from tests.validation.independent_job import Document, Job, Length, Run, down, job_of, mm
from tests.validation.independent_windows import Layer, layers_allowed, screw_taken, screw_window

F = Fraction
HOOK_SET: Final = ("rope_hook", "hook_bolt", "lock_nut", "hook_washer", "flute_plug")


@dataclass(frozen=True, slots=True)
class Difference:
    """Where the plan and this count do not agree."""

    rule: str
    what: str
    counted: object
    planned: object


class Comparison:
    """Gathers differences between the two."""

    def __init__(self) -> None:
        self.differences: list[Difference] = []
        self.compared = 0

    def equal(self, rule: str, what: str, counted: object, planned: object) -> None:
        """Compare two values; lengths to 2 micrometres, since answers are printed to one."""
        self.compared += 1
        if not _same(counted, planned):
            self.differences.append(Difference(rule, what, _show(counted), _show(planned)))


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return len(one) == len(other) and all(_same(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, int | float | Fraction) and isinstance(other, int | float | Fraction):
        return abs(float(one) - float(other)) <= 0.002
    return bool(one == other)


def _show(value: Any) -> Any:
    if isinstance(value, Fraction):
        return round(float(value), 4)
    return [_show(v) for v in value] if isinstance(value, list | tuple) else value


def sheet_widths(plan: Document) -> set[Length]:
    """What the sheets that the plan opens measure across their strips."""
    sheets = next(m for m in plan["cutting"]["materials"] if m["role"] == "sheet")
    return {
        mm(stock["length_mm" if stock["cut_along"] == "width" else "width_mm"]) for stock in sheets["stock"]
    }


def compare(request: Document, catalog: Document, plan: Document) -> Comparison:
    """Count a plan again and compare part by part."""
    found, job = Comparison(), job_of(request, catalog)
    seen = plan["layout"]["runs"]
    found.equal("4", "number of runs", len(job.runs), len(seen))
    if len(job.runs) != len(seen):
        return found
    widths = sheet_widths(plan)
    for run in job.runs:
        run.ripped = ripped(job, run.height, widths)
    moved = movement(job)
    _compare_movement(found, job, moved, plan["layout"]["movement"])
    for run, there in zip(job.runs, seen, strict=True):
        _compare_supports(found, run, there)
        _compare_heights(found, job, run, there)
        _compare_metal(found, job, run, there)
        _compare_panels(found, job, run, there, moved)
        _compare_details(found, job, run, there)
        _compare_screws(found, job, run, there, plan)
    _compare_totals(found, job, plan)
    for what, counted, planned in sawn(job, plan, moved.gap, moved.end_room):
        found.equal("objective", what, counted, planned)
    return found


def _compare_movement(found: Comparison, job: Job, mine: Movement, there: Document) -> None:
    found.equal("5", "longest span", mine.span, there["longest_span_mm"])
    found.equal("5", "growth", mine.growth, there["growth_mm"])
    found.equal("5", "side gap", mine.side_gap, there["side_gap_mm"])
    found.equal("5", "joint gap", mine.gap, there["joint_gap_mm"])
    square = job.structure.get("post", {}).get("shape") == "square"
    width = job.post_width
    found.equal(
        "5",
        "bearing tolerance",
        width / 2 - job.units.pick("1/2", 12) if square else F(17, 100) * width,
        there["bearing_tolerance_mm"],
    )


def _compare_supports(found: Comparison, run: Run, there: Document) -> None:
    name = there["id"]
    found.equal("4", f"{name} ends", run.ends, [there["front_end"], there["back_end"]])
    found.equal(
        "4",
        f"{name} stations",
        [s.station for s in run.supports],
        [s["station_mm"] for s in there["supports"]],
    )
    found.equal(
        "2",
        f"{name} post labels",
        [s.label for s in run.supports if not s.stud],
        [s["label"] for s in there["supports"] if not s["label"].startswith("J")],
    )
    found.equal(
        "4", f"{name} widths", [s.width for s in run.supports], [s["width_mm"] for s in there["supports"]]
    )


def _compare_heights(found: Comparison, job: Job, run: Run, there: Document) -> None:
    name = there["id"]
    for key, value in elevations(job, run).items():
        found.equal("3", f"{name} {key}", value, there["elevations"].get(key))
    found.equal(
        "3",
        f"{name} panel heights",
        [run.ripped] * len(there["panels"]),
        [p["height_mm"] for p in there["panels"]],
    )


def _arc(piece: Document) -> tuple[int, int]:
    return piece["from_support"], piece["to_support"]


def _compare_metal(found: Comparison, job: Job, run: Run, there: Document) -> None:
    name, step = there["id"], job.units.step
    for board in there["baseboards"]:
        want = down(board_length(job, run, _arc(board)), step)
        found.equal("6", f"{name} {board['id']} {_arc(board)}", want, board["length_mm"])
    for piece in there["top_channels"]:
        want = down(channel_length(job, run, _arc(piece)), step)
        found.equal("7", f"{name} {piece['id']} {_arc(piece)}", want, piece["length_mm"])
    for key in ("panels", "baseboards", "top_channels"):
        arcs = [_arc(p) for p in there[key]]
        found.equal(
            "objective",
            f"{name} {key} cover the run",
            [0, *(b for _, b in arcs)],
            [*(a for a, _ in arcs), run.last],
        )


def _compare_panels(found: Comparison, job: Job, run: Run, there: Document, moved: Movement) -> None:
    name, step, panels = there["id"], job.units.step, there["panels"]
    whole = any(panel["uncut"] for panel in panels)
    for panel in panels:
        want = down(panel_length(job, run, _arc(panel), moved.gap, moved.end_room), step)
        if not whole:
            found.equal("5", f"{name} {panel['id']} {_arc(panel)}", want, panel["length_mm"])
        found.equal(
            "5",
            f"{panel['id']} spans no more than L",
            True,
            run.x(panel["to_support"]) - run.x(panel["from_support"]) <= moved.span,
        )
        found.equal(
            "5",
            f"{panel['id']} reaches from its start to its end",
            panel["length_mm"],
            panel["x_end_mm"] - panel["x_start_mm"],
        )
    for left, right, joint in zip(panels, panels[1:], there["panel_joints"], strict=False):
        gap = right["x_start_mm"] - left["x_end_mm"]
        found.equal(
            "5",
            f"{name} gap at {joint['label']} is g, or g and less than a step",
            True,
            -0.002 <= gap - float(moved.gap) < float(step) + 0.002,
        )
        bearing = float(job.post_width) * 0.17
        if job.structure.get("post", {}).get("shape") == "square":
            bearing = float(job.post_width / 2 - job.units.pick("1/2", 12))
        found.equal(
            "5",
            f"{name} drift at {joint['label']} within bearing",
            True,
            abs(joint["drift_mm"]) <= bearing + 0.002,
        )
    joints = joints_of(there)
    found.equal("5", f"{name} no joint under an upright", set(), set(joints.panels & run.uprights))
    front = -panel_cover(job, run, 0, moved.end_room)
    back = run.x(run.last) + panel_cover(job, run, 1, moved.end_room)
    found.equal(
        "5",
        f"{name} first and last end stay where they are (to a step)",
        True,
        abs(panels[0]["x_start_mm"] - float(front)) < float(step)
        and abs(panels[-1]["x_end_mm"] - float(back)) < float(step),
    )


def _compare_details(found: Comparison, job: Job, run: Run, there: Document) -> None:
    name, joints = there["id"], joints_of(there)
    found.equal(
        "8",
        f"{name} joint profiles",
        [profile_length(job, run)] * len(joints.panels),
        [p["length_mm"] for p in there["joint_profiles"]],
    )
    wanted = [
        ("end_cap", cap_length(job, run))
        if end == "jamb"
        else ("corner_cap" if end == "end_rigid" else "end_batten", batten_length(job, run))
        for end in run.ends
    ]
    parts = sorted(there["end_battens"], key=lambda p: p["x_mm"])
    found.equal(
        "8", f"{name} end parts", [list(w) for w in wanted], [[p["role"], p["length_mm"]] for p in parts]
    )
    found.equal(
        "9",
        f"{name} end screw lines",
        [
            run.x(index) + (F(0) if end == "jamb" else way * job.screw_line)
            for end, index, way in zip(run.ends, (0, run.last), (1, -1), strict=True)
        ],
        [p["x_mm"] for p in parts],
    )
    found.equal(
        "9",
        f"{name} uprights",
        [[i, upright_length(job, run)] for i in sorted(run.uprights)],
        [[p["support"], p["length_mm"]] for p in there["uprights"]],
    )
    found.equal("7", f"{name} splice plates", plates(run, joints), len(there["splice_plates"]))
    found.equal("10", f"{name} hooks", hooks(job, run, joints), [h["x_mm"] for h in there["rope_hooks"]])
    face = mm(job.board["face"])
    found.equal(
        "10",
        f"{name} hook heights",
        [face / 2] * len(there["rope_hooks"]),
        [h["z_mm"] for h in there["rope_hooks"]],
    )


def _compare_screws(found: Comparison, job: Job, run: Run, there: Document, plan: Document) -> None:
    rows = [row for row in plan["fastener_schedule"]["rows"] if row["run"] == there["id"]]
    planned: Counter[str] = Counter()
    for row in rows:
        planned[row["role"]] += row["count"]
    counted = screws_by_place(job, run, joints_of(there))
    for place in sorted(counted | planned):
        found.equal("9", f"{there['id']} screws {place}", counted[place], planned[place])
    for row in rows:
        found.equal("9", f"{row['id']} has a washer", row["role"] in WASHERED, bool(row.get("washer_sku")))
        _compare_window(found, job, (run, there), plan, row)


def _compare_window(
    found: Comparison, job: Job, placed: tuple[Run, Document], plan: Document, row: Document
) -> None:
    run, there = placed
    parts = {item["sku"]: item["part"] for item in job.catalog["items"]}
    washer = mm(parts[row["washer_sku"]]["thickness"]) if row.get("washer_sku") else F(0)
    planned = [(layer["part"], layer["thickness_mm"]) for layer in row["layers"]]
    for support in row["supports"]:
        allowed, inside = layers_allowed(job, run, joints_of(there), row, support)
        match = next((layers for layers in allowed if _same_layers(layers, planned)), None)
        found.equal("9", f"{row['id']} layers at {support}", True, match is not None or (allowed, planned))
        if match is None:
            continue
        window = screw_window(match, inside, parts[row["sku"]], washer)
        found.equal("9", f"{row['id']} grip", window.grip, row["grip_mm"])
        found.equal("9", f"{row['id']} shortest", window.shortest, row["shortest_screw_mm"])
        if window.longest is not None:
            found.equal("9", f"{row['id']} longest", window.longest, row["longest_screw_mm"])
        length = screw_taken(job, row["role"], parts[row["sku"]], window)
        if length is None:
            told = next(check["outcome"] for check in plan["checks"] if check["id"] == "screw_length")
            found.equal("9", f"{row['id']} no length holds, and the check says so", "fail", told)
        else:
            found.equal("9", f"{row['id']} length", length, mm(parts[row["sku"]]["length"]))


def _same_layers(mine: list[Layer], planned: list[tuple[str, float]]) -> bool:
    return len(mine) == len(planned) and all(
        a[0] == b[0] and abs(float(a[1]) - b[1]) < 0.002 for a, b in zip(mine, planned, strict=True)
    )


def _compare_totals(found: Comparison, job: Job, plan: Document) -> None:
    lines = {line["sku"]: line for line in plan["bill_of_materials"]["lines"]}
    percent = job.option("spares_percent")
    share = F(10 if percent is None else percent, 100)
    _compare_screw_lines(found, plan, lines, share)
    _compare_small_parts(found, job, plan, lines, share)
    packs = {item["sku"]: item.get("pack_size", 1) for item in job.catalog["items"]}
    for sku, line in lines.items():
        if not line["role"].endswith("tape"):
            whole = math.ceil((line["required"] + line["spare"]) / packs[sku])
            found.equal("12", f"{sku} packs", whole, line["packs"])
    for role, length in tape(job, plan).items():
        _compare_tape(found, job, (role, length, share), lines)


def _compare_screw_lines(found: Comparison, plan: Document, lines: Document, share: Fraction) -> None:
    used: Counter[str] = Counter()
    for row in plan["fastener_schedule"]["rows"]:
        for sku in filter(None, (row["sku"], row.get("washer_sku"))):
            used[sku] += row["count"]
    for sku, count in used.items():
        found.equal(
            "12",
            f"{sku} required and spare",
            [count, math.ceil(count * share)],
            [lines[sku]["required"], lines[sku]["spare"]],
        )


def _compare_small_parts(
    found: Comparison, job: Job, plan: Document, lines: Document, share: Fraction
) -> None:
    pairs = [(run, joints_of(there)) for run, there in zip(job.runs, plan["layout"]["runs"], strict=True)]
    wanted = dict.fromkeys(HOOK_SET, sum(len(hooks(job, run, joints)) for run, joints in pairs))
    wanted["splice_plate"] = sum(plates(run, joints) for run, joints in pairs)
    planned = {line["role"]: [line["required"], line["spare"]] for line in lines.values()}
    for role, count in wanted.items():
        spare = 2 if role == "splice_plate" else math.ceil(count * share)
        found.equal(
            "12", f"{role} required and spare", [count, spare] if count else [0, 0], planned.get(role, [0, 0])
        )


def _compare_tape(found: Comparison, job: Job, asked: tuple[str, Length, Fraction], lines: Document) -> None:
    role, length, share = asked
    needed = job.thickness + 2 * job.units.pick("3/8", 10)
    rolls = [line for line in lines.values() if line["role"] == role]
    found.equal("8", f"{role} is one line", 1, len(rolls))
    for line in rolls:
        part = next(item["part"] for item in job.catalog["items"] if item["sku"] == line["sku"])
        slits = math.floor(mm(part["width"]) / needed)
        metres = length / slits / 1000 if slits else F(0)
        found.equal("8", f"{role} metres of roll", metres, line["required"])
        found.equal(
            "12",
            f"{role} rolls",
            math.ceil(metres * (1 + share) / (mm(part["length"]) / 1000)),
            line["packs"],
        )
