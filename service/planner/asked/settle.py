"""Spec and catalog settled into one job: defaults filled in, contradictions named, items chosen.

Rules of this file
------------------
- Every default that depends on display units, catalog or another field is decided here and nowhere else.
- What disagrees is refused with both fields and the ways to agree.
- No geometry: runs and layout begin with the job.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Any

from service.planner.asked.catalog import Catalog, Item
from service.planner.asked.height_fields import HeightFields, height_fields
from service.planner.asked.parts import (
    Baseboard,
    CornerCap,
    EndCap,
    FilmChannel,
    JointProfile,
    SplicePlate,
    TopChannel,
)
from service.planner.asked.roles import ROLES, Needed
from service.planner.asked.sections import (
    Section,
    found,
    section,
    section_like,
    sheets_of,
    short_enough,
    thicknesses,
)
from service.planner.asked.spec import SideName, SideOverride, Spec, Structure
from service.planner.asked.tiers import priced
from service.planner.errors import FieldProblem, FieldsDisagree, HeightUnbuildable, NoSuchItem
from service.planner.keeping import kept_with_catalog
from service.planner.messages import Length, Message, say
from service.planner.records import record
from service.planner.rules import FASTENING, THERMAL_EXPANSION, FasteningRule, Limits, Place, limits_for
from service.planner.units import FOOT, MILLIMETRE, WRITE_LENGTH, DisplayUnits, as_asked, to_millimetres

WIDEST_SPAN = 12 * FOOT + 3 * MILLIMETRE
"""Widest span that is accepted, 12 ft or 3.66 m [nm]"""
NARROWEST_SPAN = 150 * MILLIMETRE
"""Narrowest span that is accepted, judgement [nm]"""
SHALLOWEST_TRENCH = 20 * MILLIMETRE
"""Least depth of trench that a request may ask for [nm]"""
LEAST_HEIGHT = 50 * MILLIMETRE
"""Least height that a request may ask for [nm]"""


@record
class SideHeights:
    """Heights of one side's wall."""

    height: int
    """Nominal panel height from foot to top [nm]"""
    bury_depth: int
    """Depth of the foot below grade [nm]"""
    asked: HeightFields
    """The fields that set them"""


@record
class Job:
    """A settled question: everything that the stages read."""

    spec: Spec
    """The spec as given"""
    catalog: Catalog
    """The catalog"""
    limits: Limits
    """Limits in force"""
    fastening: Mapping[Place, FasteningRule]
    """Fastening rules in force"""
    stations: tuple[int, ...]
    """Post centres from the first post [nm]"""
    sides: Mapping[SideName, SideHeights]
    """Sides that get a wall"""
    heights: tuple[int, ...]
    """The different nominal heights, in the order of the sides [nm]"""
    sheets: tuple[Item, ...]
    """Sheets of the thickness asked for"""
    sections: Mapping[str, Section[Any]]
    """The section taken of every role that has one in the catalog"""
    joint_cost: int
    """Allowance for a panel joint [hundredths]"""
    metal_joint_cost: int
    """Allowance for a metal joint [hundredths]"""
    cut_cost: int
    """Allowance for a crosscut [hundredths]"""
    units: DisplayUnits
    """Units of texts"""
    text: Callable[[int], str]
    """Writes a length [nm] in the display units"""

    @property
    def profile(self) -> Section[JointProfile]:
        """The joint profile."""
        return self.sections["joint_profile"]

    @property
    def board(self) -> Section[Baseboard]:
        """The baseboard."""
        return self.sections["baseboard"]

    @property
    def channel(self) -> Section[TopChannel]:
        """The top channel."""
        return self.sections["top_channel"]

    @property
    def film_channel(self) -> Section[FilmChannel]:
        """The film channel."""
        return self.sections["film_channel"]

    @property
    def plate(self) -> Section[SplicePlate]:
        """The splice plate."""
        return self.sections["splice_plate"]

    @property
    def corner_cap(self) -> Section[CornerCap] | None:
        """The corner cap, needed at rigid ends."""
        return self.sections.get("corner_cap")

    @property
    def end_cap(self) -> Section[EndCap] | None:
        """The end cap, needed at jambs."""
        return self.sections.get("end_cap")

    @property
    def upright_flutes(self) -> bool:
        """Whether the flutes stand upright."""
        return self.spec.wall.flutes == "upright"

    @property
    def expansion(self) -> float:
        """Linear expansion of the sheet [1/K]."""
        return THERMAL_EXPANSION


def settle(spec: Spec, catalog: Catalog) -> Job:
    """Settle a spec with a catalog.

    Parameters
    ----------
    spec
        The spec, its fields within their own bounds.
    catalog
        The catalog to plan from.

    Raises
    ------
    FieldsDisagree
        When fields contradict each other.
    NoSuchItem
        When the catalog holds no item for a role that the spec needs.
    """
    limits = limits_for(spec.display_units, {change.name: change.value for change in catalog.document.limits})
    _check_site(spec)
    _check_sides(spec.structure)
    _check_bow(spec.structure)
    _check_on_hand(spec, catalog)
    stations = _stations(spec.structure)
    _check_ground(spec.structure, len(stations))
    sides = {side: _side_heights(spec, side, limits) for side in sorted(set(spec.structure.sides))}
    thickness = spec.wall.panel_thickness
    catalog = short_enough(priced(catalog, spec.pricing), spec.options.longest_stock)
    sheets = sheets_of(catalog, thickness)
    if not sheets:
        raise NoSuchItem(
            say("spec.no_thickness", "The catalog has no sheet of this thickness."),
            [_thickness_problem(catalog)],
        )
    allowances, own = catalog.document.allowances, spec.allowances
    return Job(
        spec=spec,
        catalog=catalog,
        limits=limits,
        fastening=_fastening(catalog),
        stations=stations,
        sides=sides,
        heights=tuple(dict.fromkeys(side.height for side in sides.values())),
        sheets=sheets,
        sections=_sections(spec, catalog, limits),
        joint_cost=allowances.joint if own.joint is None else own.joint,
        metal_joint_cost=allowances.metal_joint if own.metal_joint is None else own.metal_joint,
        cut_cost=allowances.cut if own.cut is None else own.cut,
        units=spec.display_units,
        text=WRITE_LENGTH[spec.display_units],
    )


@kept_with_catalog("sections")
def _fastening(catalog: Catalog) -> Mapping[Place, FasteningRule]:
    """Overlay the dealer's rows on the fastening rules table."""
    rows = dict(FASTENING)
    for change in catalog.document.fastening:
        rows[change.place] = replace(
            rows[change.place],
            number=change.number,
            length=change.length,
            head=change.head,
            drive=change.drive,
            washer=change.washer,
        )
    return rows


def _thickness_problem(catalog: Catalog) -> FieldProblem:
    """Name the thicknesses that the catalog has."""
    allowed = tuple(to_millimetres(size) for size in thicknesses(catalog))
    return FieldProblem(
        pointer="/wall/panel_thickness",
        detail=say("spec.thickness_not_stocked", "not stocked in this thickness"),
        allowed=allowed,
    )


def _sections(spec: Spec, catalog: Catalog, limits: Limits) -> Mapping[str, Section[Any]]:
    """Choose the section of every role that the job takes one of, insisting on those that it needs."""
    ends = spec.structure.end_walls
    holds: Mapping[Needed, bool] = {
        "always": True,
        "rigid_end": "polycarbonate" in (ends.front, ends.back),
        "opening": bool(spec.structure.openings),
        "asked": False,
    }
    asked: Mapping[str, Callable[[], int]] = {
        "thickness": lambda: spec.wall.panel_thickness,
        "face": lambda: _board_face(spec, catalog, limits),
    }
    chosen, named = dict[str, Section[Any]](), _named_sections(spec, catalog)
    for role in ROLES.values():
        if role.pointer is None or role.dimensions is None:
            continue
        sizes = {name: asked[name]() for name in role.chosen_by}
        sought = section(catalog, role.name, role.dimensions, **sizes)
        if role.name in named:
            sought = _fitting(*named[role.name], sizes)
        if holds[role.needed]:
            chosen[role.name] = found(sought, role.name, role.pointer)
        elif sought is not None:
            chosen[role.name] = sought
    return chosen


def _named_sections(spec: Spec, catalog: Catalog) -> Mapping[str, tuple[int, Section[Any]]]:
    """Find the sections that the request names, by role: where each stands in the request, and the section."""
    named: dict[str, tuple[int, Section[Any]]] = {}
    for number, sku in enumerate(spec.options.sections):
        if sku not in catalog.by_sku:
            raise _no_section(number, say("spec.no_item", "is no item of this catalog"))
        part = catalog.by_sku[sku].part
        if part.role in named or ROLES[part.role].pointer is None:
            raise _no_section(
                number,
                say(
                    "spec.section_role",
                    "is of a role that is named before, or takes no section: {part}",
                    part=ROLES[part.role].noun,
                ),
            )
        named[part.role] = number, section_like(catalog, part)
    return named


def _fitting(number: int, sought: Section[Any], sizes: Mapping[str, int]) -> Section[Any]:
    """Insist that a section named has the sizes asked for [nm], and stock that may be bought."""
    if not sought.items or any(getattr(sought.part, name) != size for name, size in sizes.items()):
        raise _no_section(
            number, say("spec.section_misfit", "does not serve this thickness, face or longest stock")
        )
    return sought


def _no_section(number: int, detail: Message) -> NoSuchItem:
    problem = FieldProblem(pointer=f"/options/sections/{number}", detail=detail)
    return NoSuchItem(say("spec.no_such_section", "A section asked for cannot be taken."), [problem])


def _board_face(spec: Spec, catalog: Catalog, limits: Limits) -> int:
    """Take the board face asked for, or the stocked one nearest the default (the lower of two as near) [nm]."""
    parts = [item.part for item in catalog.by_role["baseboard"] if isinstance(item.part, Baseboard)]
    faces = sorted({part.face for part in parts})
    wanted = spec.wall.baseboard_face
    if wanted is None:
        wanted = min(faces, key=lambda face: abs(face - limits.board_face), default=0)
    if wanted not in faces:
        allowed = tuple(to_millimetres(face) for face in faces)
        raise NoSuchItem(
            say("spec.no_face", "The catalog has no baseboard of this face."),
            [
                FieldProblem(
                    pointer="/wall/baseboard_face",
                    detail=say("spec.face_not_stocked", "not stocked with this face"),
                    allowed=allowed,
                )
            ],
        )
    return wanted


def _disagree(detail: Message, *problems: tuple[str, Message, object]) -> FieldsDisagree:
    """Build a contradiction from (pointer, detail, suggestion) of each field."""
    return FieldsDisagree(detail, [FieldProblem(pointer=p, detail=d, suggestion=s) for p, d, s in problems])


def _check_site(spec: Spec) -> None:
    """Refuse temperatures out of order, and give for each what would put it right alone."""
    site = spec.site
    low, fitted, high = site.lowest_temperature_c, site.install_temperature_c, site.highest_temperature_c
    if low <= fitted <= high:
        return
    said = say(
        "spec.fitting_between",
        "the fitting temperature lies between the lowest and the highest sheet temperature",
    )
    raise _disagree(
        say("spec.temperatures", "The site's temperatures are out of order."),
        ("/site/lowest_temperature_c", said, fitted if fitted <= high else None),
        ("/site/install_temperature_c", said, min(max(low, fitted), high) if low <= high else None),
        ("/site/highest_temperature_c", said, fitted if low <= fitted else None),
    )


def _check_sides(structure: Structure) -> None:
    """Refuse a side named twice, and openings in a side that gets no wall."""
    sides = structure.sides
    if len(set(sides)) < len(sides):
        raise _disagree(
            say("spec.side_twice", "A side is named twice."),
            (
                "/structure/sides",
                say("spec.each_side_once", "names each side once"),
                list(dict.fromkeys(sides)),
            ),
        )
    for number, opening in enumerate(structure.openings):
        if opening.side not in sides:
            raise _disagree(
                say("spec.opening_without_wall", "An opening is in a side that gets no wall."),
                (
                    f"/structure/openings/{number}/side",
                    say("spec.no_wall_there", "has no wall to go through"),
                    None,
                ),
                ("/structure/sides", say("spec.side_left_out", "or leaves that side out"), ["left", "right"]),
            )


def _check_bow(structure: Structure) -> None:
    """Refuse a curved bow without a radius."""
    if structure.bow.profile == "curved" and structure.bow.radius is None:
        raise _disagree(
            say("spec.no_radius", "A curved bow needs its radius."),
            ("/structure/bow/radius", say("spec.give_radius", "give the radius of the curved bow"), None),
            (
                "/structure/bow/profile",
                say("spec.or_straight", "or say that the leg is straight"),
                "straight",
            ),
        )


def _check_ground(structure: Structure, posts: int) -> None:
    """Refuse ground heights that are not one for each post."""
    for side in ("left", "right"):
        heights: tuple[int, ...] = getattr(structure.ground_heights, side)
        if heights and len(heights) != posts:
            raise _disagree(
                say("spec.ground_heights", "Ground heights are given for every post of a side, or for none."),
                (
                    f"/structure/ground_heights/{side}",
                    say(
                        "spec.heights_for_posts",
                        "holds {heights} heights for {posts} posts",
                        heights=len(heights),
                        posts=posts,
                    ),
                    [],
                ),
                ("/structure/stations", say("spec.other_posts", "or the posts are others"), None),
            )


def _check_on_hand(spec: Spec, catalog: Catalog) -> None:
    """Refuse stock on hand that is no item of the catalog."""
    unknown = [
        FieldProblem(
            pointer=f"/on_hand/{number}/sku", detail=say("spec.no_item", "is no item of this catalog")
        )
        for number, own in enumerate(spec.on_hand)
        if own.sku not in catalog.by_sku
    ]
    if unknown:
        raise NoSuchItem(say("spec.on_hand", "Stock on hand is named by the catalog's skus."), unknown)


def _stations(structure: Structure) -> tuple[int, ...]:
    """Return the post centres from equal bays or from the stations listed."""
    equal = structure.bays is not None, structure.bay_spacing is not None
    if structure.stations is not None and not any(equal):
        return _listed_stations(structure.stations)
    if structure.stations is None and structure.bays is not None and structure.bay_spacing is not None:
        return tuple(number * structure.bay_spacing for number in range(structure.bays + 1))
    raise _disagree(
        say("spec.bays_or_stations", "Give either bays with bay_spacing, or stations."),
        (
            "/structure/bays",
            say("spec.with_spacing", "goes together with bay_spacing and without stations"),
            None,
        ),
        (
            "/structure/bay_spacing",
            say("spec.with_bays", "goes together with bays and without stations"),
            None,
        ),
        ("/structure/stations", say("spec.stations_alone", "stands alone"), None),
    )


def _listed_stations(stations: tuple[int, ...]) -> tuple[int, ...]:
    """Check the stations' order and spans; count them from the first."""
    for number, (here, there) in enumerate(pairwise(stations), start=1):
        if not NARROWEST_SPAN <= there - here <= WIDEST_SPAN:
            pointer = f"/structure/stations/{number}"
            detail = say(
                "spec.station_span",
                "lies {span} after the station before it; stations increase by {least} to {most}",
                span=Length(there - here),
                least=Length(NARROWEST_SPAN),
                most=Length(WIDEST_SPAN),
            )
            raise _disagree(
                say("spec.stations_increase", "Stations must increase, by spans that can be built."),
                (pointer, detail, None),
            )
    return tuple(station - stations[0] for station in stations)


def _side_heights(spec: Spec, side: SideName, limits: Limits) -> SideHeights:
    """Settle one side's height and burial."""
    own: SideOverride = getattr(spec.wall.per_side, side)
    asked = height_fields(spec.wall, side)
    bury = spec.wall.bury_depth if own.bury_depth is None else own.bury_depth
    _check_trench(spec, bury, asked.bury_pointer)
    post = spec.structure.post.height_above_grade
    if asked.above is None:
        height = limits.wall_height if asked.given is None else asked.given
        return SideHeights(height=height, bury_depth=bury, asked=asked)
    computed = post + asked.above + bury
    if asked.given is not None and abs(asked.given - computed) > limits.height_agreement:
        raise _heights_disagree(spec, asked, computed, bury)
    if asked.given is None and computed < LEAST_HEIGHT:
        problem = asked.problem(
            computed,
            limits.wall_height,
            spec.display_units,
            say("spec.gives_no_height", "gives the wall no height"),
        )
        raise HeightUnbuildable(say("spec.no_height", "The wall's top lies at or below its foot."), [problem])
    return SideHeights(height=computed if asked.given is None else asked.given, bury_depth=bury, asked=asked)


def _heights_disagree(spec: Spec, asked: HeightFields, computed: int, bury: int) -> FieldsDisagree:
    """Name the three ways in which a height and its top above the post can agree."""
    units, more = spec.display_units, (asked.given or 0) - computed
    return _disagree(
        say(
            "spec.heights_disagree",
            "The wall's height and its top above the post disagree; change one of three.",
        ),
        (
            f"{asked.at}/height",
            say("spec.height_agrees", "height that agrees with top_above_post"),
            as_asked(computed, units),
        ),
        (
            f"{asked.at}/top_above_post",
            say("spec.top_agrees", "top that agrees with height"),
            as_asked((asked.above or 0) + more, units),
        ),
        (
            asked.bury_pointer,
            say("spec.burial_agrees", "burial that agrees with both"),
            as_asked(bury + more, units),
        ),
    )


def _check_trench(spec: Spec, bury: int, pointer: str) -> None:
    """Refuse a buried foot without a trench at least as deep."""
    trench, units = spec.options.trench, spec.display_units
    if not bury or (trench is not None and trench.depth >= bury):
        return
    depth = as_asked(max(bury, SHALLOWEST_TRENCH), units)
    raise _disagree(
        say("spec.needs_trench", "A buried foot needs a trench at least that deep."),
        (
            pointer,
            say("spec.deeper_than_trench", "deeper than the trench"),
            as_asked(trench.depth, units) if trench else 0,
        ),
        ("/options/trench/depth", say("spec.least_depth", "at least the burial"), depth)
        if trench
        else (
            "/options/trench",
            say("spec.least_trench", "at least as deep as the burial"),
            {"depth": depth},
        ),
    )
