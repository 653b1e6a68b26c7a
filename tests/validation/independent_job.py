"""A second reading of a request, written from the trade's rules alone; it shares no code with the service.

What lives here: lengths as exact fractions of a millimetre, the sections a catalog offers, and a structure's runs.
Rules: common practice, no source; what is judgement (a stud of 38 mm, a screw 5/16 in off an end post's centre) is
the project's own default.
"""

import math
import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Final

F = Fraction
NONE: Final = F(0)
INCH: Final = F(254, 10)
Document = dict[str, Any]
Length = Fraction
"""Millimetres, exactly"""

_UNITS: Final = {
    "mm": F(1), "cm": F(10), "m": F(1000), "in": INCH, "inch": INCH, "inches": INCH, '"': INCH,
    "ft": 12 * INCH, "foot": 12 * INCH, "feet": 12 * INCH, "'": 12 * INCH,
}  # fmt: skip
_TERM: Final = re.compile(r"(-?)\s*(?:(\d+)[ -](\d+)/(\d+)|(\d+)/(\d+)|(\d+(?:\.\d+)?))\s*([a-z]+|['\"])?")


def mm(value: object) -> Length:
    """Read a length: a number of millimetres, or a text such as ``12' 6 1/2"``."""
    if isinstance(value, int | float):
        return F(str(value))
    total = F(0)
    for sign, whole, top, bottom, numerator, denominator, decimal, unit in _TERM.findall(str(value)):
        number = (
            int(whole) + F(int(top), int(bottom))
            if whole
            else F(int(numerator), int(denominator))
            if numerator
            else F(decimal)
        )
        total += (-number if sign else number) * _UNITS[unit or "mm"]
    return total


def down(length: Length, step: Length) -> Length:
    """Round down to a whole number of steps."""
    return math.floor(length / step) * step


def up(length: Length, step: Length) -> Length:
    """Round up to a whole number of steps."""
    return math.ceil(length / step) * step


@dataclass(frozen=True, slots=True)
class Units:
    """The trade's round figures, which differ between inches and metric."""

    metric: bool

    def pick(self, inch: str, metric: int | str) -> Length:
        """Take the inch figure or the metric one."""
        return mm(f"{metric} mm") if self.metric else mm(f"{inch} in")

    @property
    def step(self) -> Length:
        """What a cut length is rounded down to."""
        return self.pick("1/16", 1)

    @property
    def kerf(self) -> Length:
        """Width of a saw cut, and the tolerance of a rip."""
        return self.pick("1/8", 3)


@dataclass(slots=True)
class Support:
    """A post or a stud of a run."""

    label: str
    station: Length
    width: Length
    jamb: bool = False
    stud: bool = False


@dataclass(slots=True)
class Run:
    """A run's supports, its two ends, and what is read from the plan."""

    side: str
    supports: list[Support]
    ends: list[str]
    uprights: set[int] = field(default_factory=set)
    height: Length = NONE
    ripped: Length = NONE
    bury: Length = NONE

    def x(self, index: int) -> Length:
        """A support's place from the run's zero."""
        return self.supports[index].station - self.supports[0].station

    @property
    def last(self) -> int:
        """The last support."""
        return len(self.supports) - 1


@dataclass(slots=True)
class Job:
    """A request with its defaults, and the catalog's sections that serve it."""

    request: Document
    catalog: Document
    units: Units
    runs: list[Run]

    def part(self, role: str, **wanted: Length) -> Document:
        """The first listed section of a role."""
        return next(iter(self.parts(role, **wanted)))

    def parts(self, role: str, **wanted: Length) -> list[Document]:
        """All items of a role that have the sizes wanted, no longer than the longest stock allowed."""
        longest = self.option("longest_stock")
        found = []
        for item in self.catalog["items"]:
            part = item["part"]
            if part["role"] != role or any(mm(part[key]) != size for key, size in wanted.items()):
                continue
            cut = role in ("sheet", "baseboard", "top_channel")
            if cut and longest is not None and mm(part["length"]) > mm(longest):
                continue
            found.append(
                part | {"sku": item["sku"], "price": item["price"], "pack": item.get("pack_size", 1)}
            )
        return found

    def option(self, name: str, default: object = None) -> Any:
        """Read one of the options."""
        return self.request.get("options", {}).get(name, default)

    @property
    def structure(self) -> Document:
        """The tunnel."""
        structure: Document = self.request["structure"]
        return structure

    @property
    def wall(self) -> Document:
        """The wall."""
        wall: Document = self.request["wall"]
        return wall

    @property
    def upright_flutes(self) -> bool:
        """Whether the flutes stand upright."""
        return bool(self.wall.get("flutes") == "upright")

    @property
    def thickness(self) -> Length:
        """Of the sheet."""
        return mm(self.wall["panel_thickness"])

    @property
    def post_width(self) -> Length:
        """Of the ground posts."""
        return mm(self.structure.get("post", {}).get("width", "1.9 in"))

    @property
    def hip(self) -> Length:
        """Underside of the hip rail."""
        return mm(self.structure.get("hip_height", "5 ft"))

    @property
    def post_top(self) -> Length:
        """Top of the posts."""
        return mm(self.structure.get("post", {}).get("height_above_grade", "20 in"))

    @property
    def board(self) -> Document:
        """The baseboard's section: the face asked for, or the nearest to 6 in (150 mm)."""
        wanted = mm(self.wall.get("baseboard_face") or (F(150) if self.units.metric else "6 in"))
        boards = self.parts("baseboard")
        return min(boards, key=lambda board: abs(mm(board["face"]) - wanted))

    @property
    def channel(self) -> Document:
        """The top channel's section."""
        return self.part("top_channel", thickness=self.thickness)

    @property
    def profile(self) -> Document:
        """The joint profile's section."""
        return self.part("joint_profile", thickness=self.thickness)

    @property
    def screw_line(self) -> Length:
        """How far a screw on an end post sits to the panel's side of its centre: 5/16 in (8 mm), or 0.34 R if less."""
        return min(self.units.pick("5/16", 8), F(34, 100) * self.narrow_radius)

    @property
    def narrow_radius(self) -> Length:
        """Give R, the smaller of post and bow; of a square tube half its width."""
        return min(self.post_width, mm(self.structure.get("bow", {}).get("width", "1.66 in"))) / 2

    @property
    def channel_joint(self) -> Length:
        """How far channel joints lie behind their supports' centres: 1/4 in (6 mm) toward the far end on narrow tubes.

        Narrow is where a screw a diameter (No.10, 0.190 in) beside half the gap falls outside 0.34 R.
        """
        needed = self.units.pick("1/8", 3) / 2 + F(19, 100) * INCH
        if needed <= F(34, 100) * self.narrow_radius:
            return NONE
        return self.units.pick("1/4", 6) * (1 if self.option("lay_from", "front") == "front" else -1)

    def batten_width(self, end: str) -> Length:
        """Width of what holds the panel down on an end post."""
        return mm(self.part("corner_cap" if end == "end_rigid" else "film_channel")["width"])


def stations(structure: Document) -> list[Length]:
    """Give post centres from the first post."""
    if structure.get("stations"):
        return [mm(value) for value in structure["stations"]]
    return [index * mm(structure["bay_spacing"]) for index in range(structure["bays"] + 1)]


STUD: Final = F(38)


def _edge(posts: list[Support], edge: Length, toward: int, reach: Length) -> Support:
    """The jamb at an opening's edge: the post within an inch of it, else a stud with its outer face on it."""
    for post in posts:
        if abs(edge - post.station) <= post.width / 2 + reach:
            return Support(post.label, post.station, post.width, jamb=True)
    return Support("J", edge + toward * STUD / 2, STUD, jamb=True, stud=True)


def runs_of(job: Job, side: str) -> list[Run]:
    """Cut a side into runs at its openings."""
    reach = job.units.pick("1", 25)
    posts = [Support(f"P{n + 1}", x, job.post_width) for n, x in enumerate(stations(job.structure))]
    walls = job.structure.get("end_walls", {})
    kinds = {"film": "end_film", "polycarbonate": "end_rigid", "open": "end_open"}
    start, kind, runs = posts[0], kinds[walls.get("front", "film")], []
    openings = [o for o in job.structure.get("openings", []) if o["side"] == side]
    for opening in sorted(openings, key=lambda o: mm(o["offset"])):
        near = _edge(posts, mm(opening["offset"]), -1, reach)
        far = _edge(posts, mm(opening["offset"]) + mm(opening["width"]), +1, reach)
        runs.append(_run(side, posts, (start, kind), (near, "jamb")))
        start, kind = far, "jamb"
    runs.append(_run(side, posts, (start, kind), (posts[-1], kinds[walls.get("back", "film")])))
    runs = [run for run in runs if run.last > 0]
    _mark_uprights(job, side, runs, posts)
    for run in runs:
        run.height, run.bury = heights(job, side)
    return runs


def _run(side: str, posts: list[Support], first: tuple[Support, str], last: tuple[Support, str]) -> Run:
    inner = [post for post in posts if first[0].station < post.station < last[0].station]
    ends = [first[0], last[0]] if last[0].station > first[0].station else [first[0]]
    return Run(side, [ends[0], *inner, *ends[1:]], [first[1], last[1]])


def _mark_uprights(job: Job, side: str, runs: list[Run], posts: list[Support]) -> None:
    """Put a wind-flap upright on the second bow from its end."""
    for end, place in (("front", posts[1]), ("back", posts[-2])):
        if f"{side}-{end}" in job.option("wind_flaps", []):
            for run in runs:
                run.uprights |= {i for i, post in enumerate(run.supports) if post.station == place.station}


def heights(job: Job, side: str) -> tuple[Length, Length]:
    """The wall's height and the foot's depth on a side."""
    wall = job.wall | {
        k: v for k, v in (job.wall.get("per_side", {}).get(side) or {}).items() if v is not None
    }
    bury = mm(wall.get("bury_depth", 0))
    if wall.get("height") is not None:
        return mm(wall["height"]), bury
    if wall.get("top_above_post") is not None:
        return job.post_top + mm(wall["top_above_post"]) + bury, bury
    return (F(600) if job.units.metric else mm("24 in")), bury


def job_of(request: Document, catalog: Document) -> Job:
    """Read a request: its runs with their heights."""
    job = Job(request, catalog, Units(request.get("display_units") == "metric"), [])
    for side in job.structure.get("sides", ["left", "right"]):
        job.runs += runs_of(job, side)
    return job
