"""Tools and cautions: what a step's work and its screws ask for.

Rules of this file
------------------
- Tables by kind of work, to be read and corrected by someone from the trade; steps name their work.
- Drivers and drills are derived from the screws that the step drives, never listed by hand.
- A caution stands with the work that holds the hazard, so that no step that does the work can lose it.
- Common practice, no source, unless a row says otherwise.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Final

from service.planner.engineering.hardware import HEX_NUT_SPANNERS, SCREWS, ScrewSize
from service.planner.fastening.window import screw_of
from service.planner.keeping import remembered
from service.planner.messages import Bore, Message, say
from service.planner.records import record
from service.planner.rules import Drive
from service.planner.sequencing.step_uses import Driven

CAUTIONS: Final[Mapping[str, Message]] = {
    "eyes": say("caution.eyes", "Wear eye protection with side shields when drilling, driving or cutting."),
    "ears": say("caution.ears", "Wear hearing protection at saws and impact drivers."),
    "dust": say("caution.dust", "Fine plastic dust: wear a dust mask, cut outdoors or with suction, keep chips out of the flutes."),
    "saw": say("caution.saw", "Clamp the sheet on both sides of the cut; guard down; power from a protected (GFCI) outlet on dry ground."),
    "gloves": say("caution.gloves", "Wear cut-resistant gloves for sheet metal, but never beside a turning bit."),
    "sharp": say("caution.sharp", "Cut ends of metal are sharp: deburr, cap or tape them at once."),
    "two": say("caution.two", "Two people carry and hold a long panel."),
    "wind": say("caution.wind", "Do not handle sheets or panels in wind; tie down or weight what is loose."),
    "overhead": say("caution.overhead", "Look up: keep long sheets and sticks away from overhead lines."),
    "lift": say("caution.lift", "Lift long and heavy packs with two people or a machine, and keep feet from under them."),
    "ladder": say("caution.ladder", "Work at the hip rail from a ladder or platform on firm ground; keep three points of contact, and never lean on the panels."),
    "curtain": say("caution.curtain", "Nobody stands under a raised curtain pipe until it is tied."),
    "dig": say("caution.dig", "Have buried services located before anything is dug or driven; private lines are not marked by the service."),
    "trench": say("caution.trench", "Keep spoil back from the trench edge and never undercut a post; cover or fence an open trench; nobody leans or climbs into a deep one."),
    "edge": say("caution.edge", "The open trench runs along the wall: mind its edge, and set no ladder beside it."),
    "backing": say("caution.backing", "Keep hands from behind the post and the panel: the point comes through."),
    "frame": say("caution.frame", "This plan does not design the frame: adequacy of posts, bows and anchors is a matter for local code and a licensed engineer."),
}  # fmt: skip
"""Cautions by name, as the crew reads them."""


@record
class Work:
    """A kind of work."""

    tools: tuple[str, ...] = ()
    """What it takes"""
    cautions: tuple[str, ...] = ()
    """Names of its cautions"""


WORK: Final[Mapping[str, Work]] = {
    "ask": Work(cautions=("frame",)),
    "locate": Work(tools=("telephone", "marking flags"), cautions=("dig",)),
    "count": Work(tools=("packing list", "camera", "tape measure"), cautions=("lift", "two", "wind", "overhead")),
    "curtain": Work(tools=("rope ties", "pliers"), cautions=("curtain", "ladder")),
    "strip_old": Work(tools=("driver", "pry bar"), cautions=("eyes", "gloves", "sharp")),
    "posts": Work(tools=("4 ft (1.2 m) level", "string line", "file", "zinc paint"), cautions=("eyes", "dig")),
    "studs": Work(tools=("4 ft (1.2 m) level", "post-hole digger"), cautions=("dig",)),
    "trench": Work(tools=("trencher or spades", "tape measure", "string line"), cautions=("dig", "trench")),
    "mark": Work(tools=("line level or laser", "string line", "long tape measure", "marker")),
    "rip": Work(tools=("grease pencil", "circular saw with fine-tooth blade", "straight edge", "clamps", "tape measure"),
                cautions=("eyes", "ears", "dust", "saw", "two", "wind", "overhead")),
    "crosscut": Work(tools=("fine-tooth saw", "square", "clamps", "tape measure"), cautions=("eyes", "ears", "dust", "saw")),
    "tape": Work(tools=("air blower", "clean dry rags", "knife", "tape roller")),
    "holes": Work(tools=("drill driver", "drilling template", "step drill"), cautions=("eyes", "dust")),
    "metal": Work(tools=("reciprocating saw with metal blade, or snips", "file", "tape measure", "marker"),
                  cautions=("eyes", "ears", "gloves", "sharp")),
    "end_sheets": Work(tools=("clamps", "drill driver"), cautions=("eyes", "two", "wind", "ladder")),
    "hang": Work(tools=("clamps", "gap spacers", "tape measure"), cautions=("wind",)),
    "board": Work(tools=("clamps",), cautions=("gloves", "sharp")),
    "fit_metal": Work(tools=("clamps", "tape measure"), cautions=("gloves", "sharp")),
    "upright": Work(tools=("ladder", "4 ft (1.2 m) level"), cautions=("ladder",)),
    "fold": Work(tools=("pliers", "file"), cautions=("sharp",)),
    # 1/4 in nut, 7/16 in across flats: ASME B18.2.2
    "hooks": Work(tools=("drill driver", "1/4 in drill", "1/8 in drill", "1 in hole saw", "centre punch",
                         f"{HEX_NUT_SPANNERS['1/4 in']} deep socket", f"{HEX_NUT_SPANNERS['1/4 in']} spanner"),
                  cautions=("eyes", "dust", "backing", "sharp")),
    "line_trench": Work(tools=("snips", "knife", "camera"), cautions=("gloves", "sharp", "trench")),
    "fill": Work(tools=("spades", "tamper"), cautions=("trench",)),
    "film": Work(tools=("ladder", "pliers", "knife"), cautions=("ladder", "wind")),
    "rope": Work(tools=("knife",), cautions=("curtain",)),
    "clean": Work(tools=("magnet sweeper", "broom", "camera"), cautions=("sharp",)),
    "look": Work(tools=("driver with clutch", "tape measure")),
}  # fmt: skip
"""Kinds of work by name."""

IMPACT_DRIVER: Final = say("tool.impact_driver", "impact driver with clutch or depth stop")
"""What drives a wall's screws"""

HAZARDS: Final[Mapping[str, tuple[str, ...]]] = {
    "driving": ("eyes", "ears", "backing"),
    "metal": ("gloves", "sharp"),
    "long_panel": ("two", "overhead"),
    "open_trench": ("edge",),
}
"""Cautions by what a step handles, whatever its work is called."""

_SIZES: Final[Mapping[int, ScrewSize]] = {
    6: "No.6",
    7: "No.8",
    8: "No.8",
    9: "No.10",
    10: "No.10",
    11: "No.12",
    12: "No.12",
    13: "1/4 in",
    14: "1/4 in",
}
"""Screw number to its row in the hardware table: a number between two rows takes the next larger one's bit; a No.14
is made as 1/4 in."""


@remembered("figures")
def bit_for(number: int, drive: Drive) -> Message:
    """Name the bit or driver for a screw.

    Parameters
    ----------
    number
        Screw number [-].
    drive
        Drive of its head.

    References
    ----------
    Recess numbers ASME B18.6.3, hex washer heads SAE J78, as the hardware table has them; square from memory.
    """
    row = SCREWS[_SIZES[number]]
    if drive == "hex":
        return say("tool.nut_driver", "{size} nut driver", size=str(row.driver))
    if drive == "cross":
        return say("tool.cross_bit", "No.{number} cross-recess bit", number=str(row.cross_recess))
    return say("tool.square_bit", "No.{number} square-recess bit", number=str(row.square_recess))


@remembered("steps")
def tool(words: str) -> Message:
    """Name a tool of the table: its code is made of its English words."""
    return Message(code="tool." + re.sub("[^a-z0-9]+", "_", words.lower()).strip("_"), text=words, values={})


def tools_for(work: tuple[str, ...], driven: Iterable[Driven]) -> tuple[Message, ...]:
    """Name the tools of a step, each once.

    Parameters
    ----------
    work
        Kinds of work that the step does.
    driven
        The screws that it drives.
    """
    kinds = dict.fromkeys(
        [
            ((screw := screw_of(own.row.screw)).number, screw.drive, own.row.pilot, own.row.clearance)
            for own in driven
        ]
    )
    return _tools(work, tuple(kinds))


@remembered("steps")
def _tools(
    work: tuple[str, ...], screws: tuple[tuple[int, Drive, int | None, int | None], ...]
) -> tuple[Message, ...]:
    """Name the tools for kinds of work and kinds of screws with their pilot and clearance holes."""
    found = [tool(words) for kind in work for words in WORK[kind].tools]
    for number, drive, *holes in screws:
        found += (IMPACT_DRIVER, bit_for(number, drive))
        found += [say("tool.drill", "{size} drill", size=Bore(size)) for size in holes if size is not None]
    return tuple({(told.code, *told.values.items()): told for told in found}.values())


@remembered("steps")
def cautions_for(work: tuple[str, ...], hazards: tuple[str, ...]) -> tuple[Message, ...]:
    """The cautions of a step, each once.

    Parameters
    ----------
    work
        Kinds of work that the step does.
    hazards
        What it handles, of the table of hazards.
    """
    names = [name for kind in work for name in WORK[kind].cautions]
    names += [name for hazard in hazards for name in HAZARDS[hazard]]
    return tuple(CAUTIONS[name] for name in dict.fromkeys(names))
