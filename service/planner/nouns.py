"""Nouns: things that texts count or name and that are no role of part; those stand in ``asked/roles.py``.

Rules of this file
------------------
- One noun for one thing, the trade's, wherever it is said.
"""

from collections.abc import Mapping
from typing import Final

from service.planner.messages import Noun, noun

BAY: Final = noun("noun.bay", "bay", "bays")
BOW: Final = noun("noun.bow", "bow", "bows")
CROSSCUT: Final = noun("noun.crosscut", "crosscut", "crosscuts")
END: Final = noun("noun.end", "end", "ends")
FLAP: Final = noun("noun.wind_flap", "wind flap", "wind flaps")
JAMB: Final = noun("noun.jamb", "jamb", "jambs")
JAMB_STUD: Final = noun("noun.jamb_stud", "jamb stud", "jamb studs")
JOINT: Final = noun("noun.panel_joint", "panel joint", "panel joints")
POST: Final = noun("noun.post", "post", "posts")
RUN: Final = noun("noun.run", "run", "runs")

SIDES: Final[Mapping[str, Noun]] = {
    "left": noun("noun.left_side", "left side", "left sides"),
    "right": noun("noun.right_side", "right side", "right sides"),
}
"""The sides of a tunnel, as seen from outside its front end wall"""
FRAME: Final[Mapping[str, Noun]] = {"post": POST, "bow": BOW, "jamb": JAMB}
"""Parts of the frame, by the names of layers that screws pass"""
