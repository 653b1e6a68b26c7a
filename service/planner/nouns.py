"""Nouns: things that texts count or name and that are no role of part; those stand in ``asked/roles.py``.

Rules of this file
------------------
- One noun for one thing, the trade's, wherever it is said.
"""

from typing import Final

from service.planner.messages import noun

BAY: Final = noun("noun.bay", "bay", "bays")
CROSSCUT: Final = noun("noun.crosscut", "crosscut", "crosscuts")
END: Final = noun("noun.end", "end", "ends")
FLAP: Final = noun("noun.wind_flap", "wind flap", "wind flaps")
JAMB_STUD: Final = noun("noun.jamb_stud", "jamb stud", "jamb studs")
JOINT: Final = noun("noun.panel_joint", "panel joint", "panel joints")
POST: Final = noun("noun.post", "post", "posts")
RUN: Final = noun("noun.run", "run", "runs")
