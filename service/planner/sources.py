"""What the rules, formulae and tables of the planner rest on.

Rules of this file
------------------
- One row for each source and each degree of certainty; checks refer to a row by its `id`.
- A standard that was seen only through a reprint or another program's tables is "read in a secondary
  reprint": confirm it against the standard before relying on it.
- An id, once published, keeps its meaning.
"""

from dataclasses import dataclass
from typing import Final, Literal

Certainty = Literal[
    "read",
    "read in a secondary reprint",
    "from memory",
    "common practice, no source",
    "derived",
    "judgement",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One thing the planner rests on."""

    id: str
    """Stable name that checks refer to [-]"""
    title: str
    """Document, practice or reasoning [-]"""
    edition: str
    """Edition or year; empty where there is none [-]"""
    clause: str
    """Clause, table or page; empty where there is none [-]"""
    used_for: str
    """What the planner takes from it [-]"""
    certainty: Certainty
    """How it is known [-]"""


def _row(certainty: Certainty, source: tuple[str, str, str, str], used_for: str) -> Source:
    name, title, edition, clause = source
    return Source(
        id=name, title=title, edition=edition, clause=clause, used_for=used_for, certainty=certainty
    )


_READ: Final = "read"
_SECONDARY: Final = "read in a secondary reprint"
_MEMORY: Final = "from memory"
_PRACTICE: Final = "common practice, no source"
_DERIVED: Final = "derived"
_JUDGEMENT: Final = "judgement"

_ASCE: Final = "ASCE 7, Minimum Design Loads and Associated Criteria for Buildings and Other Structures"
_AISI: Final = "AISI S100, Specification for the Design of Cold-Formed Steel Structural Members"
_CFR: Final = "29 CFR 1926, Safety and Health Regulations for Construction"

SOURCES: Final = (
    # wind
    _row(_SECONDARY, ("asce-7-16", _ASCE, "7-16", "26.10, tables 26.9-1 to 26.11-1"), "velocity pressure"),
    _row(_SECONDARY, ("asce-7-22", _ASCE, "7-22", "26.10, tables 26.10-1 and 26.11-1"), "velocity pressure"),
    _row(
        _SECONDARY,
        ("asce-7-16-cladding", _ASCE, "7-16", "figure 30.3-1, table 26.13-1"),
        "wall pressure coefficients at 10 and 500 ft2, internal pressure",
    ),
    _row(
        _MEMORY,
        ("asce-7-16-cladding-between", _ASCE, "7-16", "figure 30.3-1, 26.2"),
        "lines between those areas, width of the end zone",
    ),
    _row(
        _MEMORY,
        ("asce-7-16-combinations", _ASCE, "7-16", "2.4.1, 30.2.2"),
        "0.6 W in allowable stress design; least pressure on cladding",
    ),
    _row(
        _SECONDARY,
        (
            "en-1991-1-4",
            "EN 1991-1-4, Actions on structures: Wind actions",
            "2005+A1:2010",
            "4.3 to 4.5, 7.2",
        ),
        "peak velocity pressure, wall coefficients",
    ),
    _row(
        _READ,
        ("uconn-wind", "University of Connecticut Extension, snow and wind loads", "2013", ""),
        "order of magnitude of wind on a polycarbonate wall",
    ),
    # screws and steel
    _row(_SECONDARY, ("aisi-s100-12", _AISI, "S100-12", "E4"), "pull-out, pull-over, spacing, edge distance"),
    _row(_SECONDARY, ("aisi-s100-16-s3", _AISI, "S100-16 with S3-22", "J4"), "newer pull-out and pull-over"),
    _row(
        _READ,
        ("pull-out-table", "Allowable-load table for self-drilling screws, public building record", "", ""),
        "31 allowable pull-out loads the formula is held to",
    ),
    _row(
        _SECONDARY,
        ("sae-j78", "SAE J78, Self-Drilling Tapping Screws; ASME B18.6.4", "", ""),
        "threads, heads, drill points, drilling range",
    ),
    _row(
        _READ,
        ("astm-c1513", "ASTM C1513, Steel Tapping Screws for Cold-Formed Steel Framing", "18", "table 5"),
        "drill test; gives no drilling capacity",
    ),
    _row(
        _SECONDARY,
        ("iso-15480", "ISO 15480, Hexagon washer head drilling screws", "", ""),
        "drilling range of metric sizes",
    ),
    _row(
        _MEMORY,
        ("drill-charts", "Trade charts of drill points", "", ""),
        "drilling range where the standards are silent",
    ),
    _row(_SECONDARY, ("asme-b18-6-3", "ASME B18.6.3, Machine Screws", "", "table 9"), "cross recess numbers"),
    _row(_SECONDARY, ("asme-b18-2-2", "ASME B18.2.2, Nuts", "", "tables 1A and 4"), "spanner sizes"),
    _row(_MEMORY, ("square-recess", "ASME B18.6.3, square recess", "", ""), "square recess numbers"),
    _row(
        _DERIVED,
        ("grip-length", "Layers, washer, three threads and drill point", "", ""),
        "least and greatest screw length",
    ),
    _row(_MEMORY, ("three-threads", "Cold-formed steel practice", "", ""), "threads past the last metal"),
    _row(
        _MEMORY,
        ("one-thread", "One turn of thread in the last steel", "", ""),
        "threads that thin tube walls hold",
    ),
    _row(
        _MEMORY,
        ("jacking", "Drill flute against the distance between metals", "", ""),
        "clearance hole in the outer metal over thick plastic",
    ),
    _row(
        _SECONDARY,
        ("manufacturers-standard-gauge", "Manufacturers' Standard Gauge for Sheet Steel", "", ""),
        "zinc on galvanised sheet",
    ),
    # sheet and heat
    _row(
        _MEMORY,
        ("en-16153", "EN 16153, Light transmitting flat multiwall polycarbonate sheets", "2013", ""),
        "linear expansion, values a maker declares",
    ),
    _row(
        _READ,
        (
            "sheet-association",
            "European Polycarbonate Sheet Extruders, installation page and questions",
            "",
            "",
        ),
        "0.065 mm/m K, 20 mm engagement, tape, washers of 65 Shore A without PVC",
    ),
    _row(
        _READ,
        ("grower-table", "Grower's table of glazings", "2001", ""),
        "mass and transmittance of 10, 16 and 25 mm sheet",
    ),
    _row(
        _MEMORY,
        ("sheet-trade-values", "Trade-wide sheet values", "", ""),
        "4, 6 and 8 mm sheet, wall thickness",
    ),
    _row(
        _SECONDARY,
        (
            "iso-6946",
            "ISO 6946, Thermal resistance and thermal transmittance",
            "2007",
            "air layers, surfaces",
        ),
        "transmittance of layers",
    ),
    _row(
        _READ,
        ("extension-glazing", "eXtension greenhouse energy course, unit 2.6, glazing materials", "", ""),
        "transmittance of single and double layers",
    ),
    _row(_DERIVED, ("thermal-movement", "Growth of a length with temperature", "", ""), "gaps, holes, bite"),
    _row(
        _MEMORY,
        ("metal-movement", "Growth of aluminium, 23.1e-6 for each kelvin", "", ""),
        "gaps in top channel",
    ),
    _row(_PRACTICE, ("bite-relaxed", "Half an inch of sheet left in the profile", "", ""), "least bite"),
    _row(
        _PRACTICE,
        ("sheet-pull-through", "The sheet maker's declared pull-through", "", ""),
        "suction on washered screws; no neutral value is known",
    ),
    _row(_PRACTICE, ("washer-cover", "Washer covers its hole by 1/8 in all round", "", ""), "washer size"),
    _row(_JUDGEMENT, ("batten-cover", "Panel end left under the batten", "", ""), "cover at the coldest"),
    _row(
        _MEMORY, ("flutes-upright", "Sheet makers' and associations' advice", "", ""), "flutes drain upright"
    ),
    _row(
        _JUDGEMENT,
        ("bay-by-thickness", "Bay spacing against sheet thickness", "", ""),
        "6 mm 4 ft, 8 mm 5 ft, 10 mm 6 ft, 16 mm 8 ft; not structural",
    ),
    # frame and layout
    _row(
        _READ,
        ("rutgers-high-tunnel", "Rutgers horticultural engineering, high tunnel construction", "", ""),
        "posts 4 ft apart: ten to a 36 ft side; treated baseboard",
    ),
    _row(_DERIVED, ("bow-circle", "Geometry of the circle", "", ""), "set-back of a curved bow"),
    _row(_JUDGEMENT, ("bow-limits", "Shim, stand-off or lower wall", "", ""), "what a set-back calls for"),
    _row(
        _JUDGEMENT,
        ("joint-bearing", "A joint bears on a round post within 0.17 of its width", "", ""),
        "drift of factory-length sheets",
    ),
    _row(
        _DERIVED, ("stock-length", "Whole bays against stock length", "", ""), "stock a lap short, kerf loss"
    ),
    _row(_PRACTICE, ("film-contact", "No hex head where film rubs", "", ""), "screw heads under the curtain"),
    _row(_PRACTICE, ("hook-clearance", "Rope hooks 3 in clear of joints and posts", "", ""), "rope hooks"),
    _row(_PRACTICE, ("board-on-post", "Both lips of the board screwed to posts", "", ""), "short posts"),
    _row(_PRACTICE, ("curtain-lap", "A curtain laps the wall by 6 in, 4 in at least", "", ""), "low walls"),
    _row(_DERIVED, ("opening-clear", "Faces of the jambs", "", ""), "clear width of openings"),
    _row(_DERIVED, ("parts-clear", "What was laid out, measured", "", ""), "plates, pieces and uprights"),
    _row(_MEMORY, ("vent-share", "Side vent against floor area", "", ""), "15 per cent of the floor"),
    _row(
        _JUDGEMENT,
        ("engineer-limits", "When to ask a licensed engineer", "", ""),
        "tall, wide or windy walls",
    ),
    _row(_JUDGEMENT, ("spares", "Spare parts", "", ""), "10 per cent of small parts"),
    _row(
        _PRACTICE,
        ("permit-wording", "What exemptions of farm structures lean on", "", ""),
        "questions to the building office",
    ),
    _row(_JUDGEMENT, ("waste-share", "Share of sheet that is offcut", "", ""), "35 per cent"),
    _row(_JUDGEMENT, ("bundle-mass", "What one pallet carries", "", ""), "1000 kg"),
    _row(_JUDGEMENT, ("minutes", "Estimate of working time", "", ""), "minutes of a step"),
    _row(
        _SECONDARY, ("freight-steps", "Freight trade articles", "2025", ""), "96, 144 and 240 in length steps"
    ),
    # ground and safety
    _row(_PRACTICE, ("earthwork", "Swell of dug earth, density of stone", "", ""), "spoil and stone"),
    _row(
        _JUDGEMENT,
        ("post-embedment", "A trench no deeper than a third of the posts' embedment", "", ""),
        "trenches beside posts",
    ),
    _row(_PRACTICE, ("buried-edge", "Flutes wick, frost lifts", "", ""), "buried sheet"),
    _row(
        _READ,
        ("icwdm-gaps", "Internet Center for Wildlife Damage Management", "", ""),
        "1/4 in keeps mice out, 1/2 in rats",
    ),
    _row(_READ, ("29-cfr-1926-651", _CFR, "", "1926.651(b)"), "utilities located before digging"),
    _row(_MEMORY, ("29-cfr-1926-102", _CFR, "", "1926.102"), "eye protection"),
    _row(_SECONDARY, ("29-cfr-1926-1053", _CFR, "", "1926.1053(b)(1)"), "ladders"),
    _row(_MEMORY, ("29-cfr-1926-652", _CFR, "", "1926.652(a)(1)"), "trench support from 5 ft"),
)
"""Every source, in the order the API lists them."""

BY_ID: Final[dict[str, Source]] = {source.id: source for source in SOURCES}
"""The same rows by their stable name."""
