"""Nouns: things that texts count or name and that no role of part stands for.

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
HOOK: Final = noun("noun.rope_hook", "rope hook", "rope hooks")
JAMB_STUD: Final = noun("noun.jamb_stud", "jamb stud", "jamb studs")
JOINT: Final = noun("noun.panel_joint", "panel joint", "panel joints")
PANEL: Final = noun("noun.panel", "panel", "panels")
POST: Final = noun("noun.post", "post", "posts")
RUN: Final = noun("noun.run", "run", "runs")
SHEET: Final = noun("noun.sheet", "sheet", "sheets")
