"""Economy and environment: what is wasted, how it ships, heat saved, earth moved.

Rules of this file
------------------
- Limits are judgement unless a source is named: they ask for a second look, nothing fails by them.
- Heat is claimed only for a heated tunnel, of the sheet above the board, and only where it beats the best film of its
  kind: by the U that the catalog declares, else by the worst of its kind.
"""

from collections.abc import Iterator
from functools import partial
from typing import Final

from service.planner.asked.changes import Changes
from service.planner.asked.parts import Sheet
from service.planner.asked.spec import Trench
from service.planner.engineering.earthwork import TrenchShape, bank_volume, loose_volume, stone_mass
from service.planner.engineering.glazing import SHEETS, heat_flow, least_transmittance, supported_difference
from service.planner.judging.checks.remedies import other_height, own_glazing, stock_no_longer
from service.planner.judging.checks.verdict import Check, Kind, Words
from service.planner.judging.facts import Facts
from service.planner.messages import All, Length, Message, Noun, Number, Share, noun, say
from service.planner.rules import FREIGHT_STEPS
from service.planner.units import INCH, METRE, MILLIMETRE, as_asked, cut_step, round_down
from service.planner.wall.heights import rip_tolerance
from service.planner.wall.layout import Heights, Run

WASTE: Final = Kind("sheet_waste", "Sheet that is bought and not used", "P1", "waste-share")
PACKED: Final = Kind("packed_length", "Packed length against the carriers' steps", "MMT", "freight-steps")
MASS: Final = Kind("bundle_mass", "Mass of everything bought", "KGM", "bundle-mass")
HEAT: Final = Kind("heat_saved", "Heat that the wall saves against film", "WTT", "extension-glazing")
DEPTH: Final = Kind("trench_depth", "Trench beside the posts", "MMT", "post-embedment")

MOST_WASTE: Final = 0.35
"""Share of sheet bought that may be waste without a second look, judgement [-]"""
HEAVIEST: Final = 1000.0
"""Mass that one pallet and a small machine handle, judgement [kg]"""
STONE: Final = 4 * INCH
"""Depth of stone in the trench's bottom where it is wet, common practice [nm]"""
UNDERCUT: Final = 3
"""A trench beside a post is no deeper than this part of its embedment, judgement [-]"""
FILMS: Final[dict[str, Noun]] = {
    "single": noun("noun.single_film", "single film", "single films"),
    "double": noun("noun.double_film", "double film", "double films"),
}
"""Films that the wall replaces"""


def sheet_waste(facts: Facts) -> Iterator[Check]:
    """Judge the share of sheet bought that is no panel."""
    layout = facts.layout
    used = sum(sum(panel.length for panel in wall.panels) * wall.heights.ripped for wall in layout.walls)
    bought = sum(
        pattern.repeat * pattern.length * (pattern.width or 0) for pattern in layout.cutting("sheet").patterns
    )
    if not bought:
        return
    share = 1 - used / bought
    yield WASTE.compare(
        100 * share,
        100 * MOST_WASTE,
        Words(
            say(
                "advice.sheet_waste",
                "{share} of the sheet opened is offcut.",
                share=Share(100 * share),
            ),
            remedy=say(
                "remedy.sheet_waste", "A height that divides the sheet's width without rest wastes least."
            ),
        ),
        over="caution",
        changes=partial(_dividing_height, facts, used / bought),
    )


def _dividing_height(facts: Facts, yielded: float) -> Changes:
    """Raise the wall to the full share of the sheet's width that each strip may have, where that uses enough of it."""
    job, layout = facts.job, facts.layout
    kerf, tolerance = job.limits.kerf, rip_tolerance(job)
    widths = [pattern.width or 0 for pattern in layout.cutting("sheet").patterns]
    if len(job.heights) != 1 or len(set(widths)) != 1 or job.upright_flutes:
        return ()
    height, width = job.heights[0], widths[0]
    strips = max(1, (width + kerf) // (height - tolerance + kerf))
    full = round_down((width - (strips - 1) * kerf) // strips, cut_step(job.units))
    if 1 - yielded * full / layout.heights[0].ripped > MOST_WASTE or full <= height:
        return ()

    def height_of(_: Run, __: Heights) -> int:
        return full

    return other_height(facts, height_of)


def packed_length(facts: Facts) -> Iterator[Check]:
    """Judge the longest piece, packed, against the step that most walls can stay under."""
    job = facts.job
    if not facts.bill.longest:
        return
    packed = facts.bill.longest + job.limits.packing_allowance
    yield PACKED.lengths(
        packed,
        facts.job.limits.freight_step,
        Words(
            say(
                "advice.packed_length",
                "Packed, the longest piece is {packed}. Carriers charge more past {steps} (estimate; the carrier decides).",
                packed=Length(packed),
                steps=All(tuple(map(Length, FREIGHT_STEPS))),
            ),
            remedy=say(
                "remedy.packed_length",
                "Past {step} carriers ask for a longer truck: ask for their price, or for shorter stock.",
                step=Length(job.limits.freight_step),
            ),
        ),
        over="caution",
        changes=lambda: stock_no_longer(
            facts, own_glazing(job), facts.job.limits.freight_step - job.limits.packing_allowance
        ),
    )


def bundle_mass(facts: Facts) -> Iterator[Check]:
    """Judge the mass of everything bought against what one pallet and a small machine handle."""
    mass = facts.bill.total_mass_kg
    yield MASS.compare(
        mass,
        HEAVIEST,
        Words(
            say("advice.bundle_mass", "{mass} kg without packing.", mass=Number(mass, 0)),
            remedy=say(
                "remedy.bundle_mass",
                "Past {most} kg have it split over pallets, with a machine to unload.",
                most=Number(HEAVIEST, 0),
            ),
        ),
        over="caution",
    )


def heat(facts: Facts) -> Iterator[Check]:
    """Tell the heat that a heated tunnel saves at least, where published values support any."""
    site = facts.job.spec.site
    if site.design_heat_difference_c is None:
        return
    # the board is no film: only the sheet above it stands in film's place
    area = sum(
        run.supports[-1].x * (heights.panel_top - heights.board_top) / METRE / METRE
        for run, heights in zip(facts.layout.runs, facts.layout.heights, strict=True)
    )
    difference = _less_heat(facts)
    if not difference:
        yield HEAT.tell(
            "not_assessed",
            say(
                "advice.heat_unknown",
                "The sheet's transmittance is neither in the catalog nor in the tables here: ask its maker.",
            )
            if difference is None
            else say(
                "advice.heat_overlaps",
                "Against {film} no saving is claimed for this sheet: the transmittances overlap.",
                film=FILMS[site.curtain_film],
            ),
        )
        return
    saved = heat_flow(area, difference, site.design_heat_difference_c)
    yield HEAT.tell(
        "pass",
        say(
            "advice.heat_saved",
            "At least {saved} W less at {difference} K, over {area} m2 of wall in place of {film}. What a tighter wall"
            " saves comes on top and cannot be computed.",
            saved=Number(saved, 0),
            difference=Number(site.design_heat_difference_c),
            area=Number(area, 1),
            film=FILMS[site.curtain_film],
        ),
        demand=saved,
    )


def _less_heat(facts: Facts) -> float | None:
    """What the sheet's U is below the film's at least; none where nothing is known of the sheet [W/m2K]."""
    job = facts.job
    used = {pattern.sku for pattern in facts.layout.cuttings[0].patterns}
    parts = [job.catalog.by_sku[sku].part for sku in sorted(used)]
    declared = [part.u_value for part in parts if isinstance(part, Sheet)]
    whole, rest = divmod(job.spec.wall.panel_thickness, MILLIMETRE)
    usual = SHEETS.get(whole) if rest == 0 else None
    found = [
        max(least_transmittance(job.spec.site.curtain_film) - u, 0.0)
        if u is not None
        else supported_difference(usual, job.spec.site.curtain_film)
        if usual is not None
        else None
        for u in declared
    ]
    return None if None in found else min(each for each in found if each is not None)


def trench_depth(facts: Facts) -> Iterator[Check]:
    """Judge a trench beside driven posts, and tell its volumes."""
    job, trench = facts.job, facts.job.spec.options.trench
    if trench is None:
        return
    embed = job.spec.structure.post.embed_depth
    volumes = _volumes(facts, trench)
    if embed is None:
        yield DEPTH.tell(
            "not_assessed",
            say(
                "advice.trench_not_compared",
                "{volumes} Give the posts' embed depth to have the trench compared with it.",
                volumes=volumes,
            ),
        )
        return
    bury = max(run.bury_depth for run in facts.layout.runs)
    shallow = round_down(embed // UNDERCUT, cut_step(job.units))
    yield DEPTH.lengths(
        trench.depth,
        embed / UNDERCUT,
        Words(
            say(
                "advice.trench_depth",
                "{volumes} A third of the posts' embedment is {third}.",
                volumes=volumes,
                third=Length(embed // UNDERCUT),
            ),
            remedy=say("remedy.trench_depth", "A deeper trench beside them takes their hold."),
        ),
        over="caution",
        changes=lambda: (
            (("/options/trench/depth", as_asked(shallow, job.units)),)
            if shallow >= max(bury, 20 * MILLIMETRE)
            else ()
        ),
    )


def _volumes(facts: Facts, asked: Trench) -> Message:
    """Tell earth, spoil and stone of the trench."""
    length = sum(run.supports[-1].x for run in facts.layout.runs) / METRE
    trench = TrenchShape(length=length, width=asked.width / METRE, depth=asked.depth / METRE)
    return say(
        "advice.trench_volumes",
        "{length} m of trench hold {earth} m3 of earth, {loose} m3 loose beside it, and {stone} t of stone where the"
        " bottom is wet.",
        length=Number(length, 1),
        earth=Number(bank_volume(trench), 2),
        loose=Number(loose_volume(trench), 2),
        stone=Number(stone_mass(trench, STONE / METRE) / 1000, 2),
    )
