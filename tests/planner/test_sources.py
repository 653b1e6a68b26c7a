"""The table of sources: names that checks may rely on."""

from pathlib import Path
from typing import Final

import service.planner
from service.planner.judging.checks import (
    bearing,
    economy,
    geometry,
    ground,
    movement,
    screws,
    triggers,
    wind,
)
from service.planner.judging.checks.verdict import Kind
from service.planner.sources import BY_ID, SOURCES

PLANNER: Final = Path(service.planner.__file__).parent
VALIDATION: Final = Path(__file__).parents[1] / "validation"
FAMILIES: Final = (bearing, economy, geometry, ground, movement, screws, triggers, wind)
OF_CHECKS: Final = {
    *(kind.source for family in FAMILIES for kind in vars(family).values() if isinstance(kind, Kind)),
    *wind.FORMS.values(),
    *wind.LOAD_SOURCES.values(),
    *screws.SOURCE_IDS.values(),
}
"""What checks name"""
OF_RULES: Final = {
    # where a source that no check names is relied on, and words that stand there
    "asce-7-16": (PLANNER / "engineering/wind.py", "table 26.10-1"),
    "asce-7-16-cladding-between": (PLANNER / "engineering/wind.py", "the lines between are from memory"),
    "asce-7-16-combinations": (PLANNER / "engineering/wind.py", "ASCE 7-16, 2.4.1"),
    "uconn-wind": (VALIDATION / "test_asce_7.py", "Connecticut"),
    "pull-out-table": (VALIDATION / "test_aisi_s100.py", "public building record"),
    "astm-c1513": (PLANNER / "engineering/hardware.py", "C1513"),
    "asme-b18-6-3": (PLANNER / "engineering/hardware.py", "B18.6.3"),
    "asme-b18-2-2": (PLANNER / "engineering/hardware.py", "B18.2.2"),
    "square-recess": (PLANNER / "engineering/hardware.py", "quare recess"),
    "three-threads": (PLANNER / "fastening/window.py", "three threads"),
    "manufacturers-standard-gauge": (PLANNER / "engineering/screw_strength.py", "galvanised gauge"),
    "en-16153": (PLANNER / "engineering/glazing.py", "EN 16153"),
    "grower-table": (PLANNER / "engineering/glazing.py", "a grower's table of 2001"),
    "sheet-trade-values": (PLANNER / "engineering/glazing.py", "trade-wide values from memory"),
    "iso-6946": (PLANNER / "engineering/glazing.py", "ISO 6946"),
    "bite-relaxed": (PLANNER / "rules.py", "bite"),
    "flutes-upright": (PLANNER / "judging/notices.py", "notice.flutes_along"),
    "rutgers-high-tunnel": (VALIDATION / "test_rutgers_high_tunnel.py", "Rutgers"),
    "bow-circle": (PLANNER / "engineering/bow.py", "The circle itself"),
    "stock-length": (PLANNER / "judging/notices.py", "notice.stock_one_lap_short"),
    "spares": (PLANNER / "rules.py", "SPARES_PERCENT"),
    "minutes": (PLANNER / "answer/rendering.py", "plan.minutes_note"),
    "earthwork": (PLANNER / "engineering/earthwork.py", "well"),
    "29-cfr-1926-102": (PLANNER / "sequencing/tools.py", "caution.eyes"),
    "29-cfr-1926-1053": (PLANNER / "sequencing/tools.py", "caution.ladder"),
    "29-cfr-1926-652": (PLANNER / "sequencing/tools.py", "caution.trench"),
}


def test_every_source_has_its_own_name() -> None:
    """Names are unique, and made of small letters, digits and hyphens."""
    assert len(BY_ID) == len(SOURCES)
    assert all(name.replace("-", "").isalnum() and name == name.lower() for name in BY_ID)


def test_every_source_says_what_it_is_used_for() -> None:
    """No row is empty where a reader needs it."""
    assert all(source.title and source.used_for for source in SOURCES)


def test_every_degree_of_certainty_is_in_use() -> None:
    """The six words of the contract all occur, so none is dead."""
    assert {source.certainty for source in SOURCES} == {
        "read",
        "read in a secondary reprint",
        "from memory",
        "common practice, no source",
        "derived",
        "judgement",
    }


def test_no_check_is_without_its_source() -> None:
    """What checks name stands in the table."""
    assert OF_CHECKS.issubset(BY_ID)


def test_no_source_is_unused() -> None:
    """A source is named by a check, or by the rule, the caution or the validation that it bears."""
    assert set(BY_ID) == OF_CHECKS | set(OF_RULES)
    assert not OF_CHECKS & set(OF_RULES)
    for name, (file, words) in OF_RULES.items():
        assert words in file.read_text(), name
