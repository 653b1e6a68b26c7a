"""Walls that are drawn in the tests, planned once each."""

from functools import cache
from typing import Any, Final

from pydantic import TypeAdapter

from service.planner.answer.shapes import Plan
from service.planner.asked.spec import Spec
from service.planner.plan import make_plan
from service.words.languages import languages
from tests.planner.scenarios import demo_catalog

_SPEC: Final = TypeAdapter(Spec)
HOSTILE: Final = 'Row 7 <script>alert("x")</script> ]]> & #let x = 1 $ \\ "「北」\u202e'
"""A reference that is harmful wherever it is read as source"""
_CORNERS: Final = ["left-front", "left-back", "right-front", "right-back"]


def _tunnel(
    bays: int, spacing: str = "4 ft", **rest: Any
) -> dict[str, Any]:  # the rest of a body is any JSON
    structure = {"bays": bays, "bay_spacing": spacing, **rest.pop("structure", {})}
    wall = {"panel_thickness": "8 mm", **rest.pop("wall", {})}
    return {"structure": structure, "wall": wall, **rest}


WALLS: Final[dict[str, dict[str, Any]]] = {
    "one bay": _tunnel(1),
    "two bays": _tunnel(2, "5 ft", reference=HOSTILE),
    "22 bays": _tunnel(22),
    "flaps": _tunnel(40, "5 ft", options={"wind_flaps": _CORNERS}),
    "200 bays": _tunnel(200),
    "openings": {
        "display_units": "metric",
        "structure": {
            "bays": 10, "bay_spacing": "1.5 m",
            "openings": [
                {"side": "left", "offset": "4.7 m", "width": "1 m"},
                {"side": "right", "offset": "1.5 m", "width": "1.5 m"},
            ],
        },
        "wall": {"panel_thickness": "10 mm", "height": "750 mm", "bury_depth": "150 mm"},
        "options": {"trench": {}},
    },
    "uneven": {
        "structure": {"stations": ["0", "4 ft", "8' 3\"", "12 ft", "15' 10\"", "20 ft", "21 ft", "26 ft", "30 ft"]},
        "wall": {"panel_thickness": "8 mm"},
    },
    "upright flutes": _tunnel(9, structure={"end_walls": {"front": "polycarbonate", "back": "open"}}, wall={"flutes": "upright"}),
    "curved bow": _tunnel(8, structure={"bow": {"profile": "curved", "radius": "15 ft"}}),
}  # fmt: skip
"""Specs as sent, by what is special about them"""


@cache
def wall(name: str, tag: str = "en") -> Plan:
    """Plan one of the walls."""
    return make_plan(_SPEC.validate_python(WALLS[name]), demo_catalog(), "r-0", languages()[tag])
