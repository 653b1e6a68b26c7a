"""The table of sources: names that checks may rely on."""

from service.planner.sources import BY_ID, SOURCES


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
