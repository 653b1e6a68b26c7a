"""Every text is found, has one code, pairs with its values, and is translated."""

import ast
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from service.planner.messages import names_in
from service.words.extracting import CALLS, SOURCE, incomplete, template, texts_of, updated
from service.words.languages import TRANSLATED, forms_of, read_catalog

SAYING: Final = ("say", "say_count")


def test_a_text_that_is_no_literal_cannot_escape() -> None:
    with pytest.raises(ValueError, match="literals"):
        list(texts_of("say('a.b', text, x=1)"))
    with pytest.raises(ValueError, match="literals"):
        list(texts_of("say('a.b', f'{x} is', x=1)"))
    assert list(texts_of("say('a.b', 'x ' '{x}', x=noun('c', 'one', 'many'))")) == [
        ("a.b", "x {x}"),
        ("c", "one", "many"),
    ]


def test_a_code_names_one_text() -> None:
    """What stands twice under one code is the same text."""
    codes = Counter(entry.context for entry in template() if entry.id)
    assert [code for code, count in codes.items() if count > 1] == []


@pytest.mark.parametrize("tag", TRANSLATED)
def test_catalogs_hold_every_text_and_no_other(tag: str) -> None:
    """Nothing is missing, stale or left to look at: `python -m service words` brings a catalog up to date."""
    wanted = {(entry.context, entry.id) for entry in template() if entry.id}
    held = {(entry.context, entry.id) for entry in read_catalog(tag) if entry.id}
    assert held == wanted
    assert [entry.context for entry in incomplete(updated(tag))] == []


@pytest.mark.parametrize("tag", TRANSLATED)
def test_a_translation_names_the_values_that_its_text_names(tag: str) -> None:
    """A missing name would hide a number, a name too many would fail."""
    for entry in read_catalog(tag):
        texts: Any = entry.id if isinstance(entry.id, (tuple, list)) else (entry.id,)
        for text, translation in zip(texts, forms_of(entry), strict=True) if entry.id else ():
            named = set(names_in(text)) | (set(names_in(texts[-1])) if len(texts) > 1 else set())
            assert set(names_in(translation)) in (set(names_in(text)), named), entry.context


def _said() -> Iterator[tuple[str, ast.Call]]:
    for path in sorted(Path(SOURCE).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SAYING:
                yield f"{path.name}:{node.lineno}", node


def test_a_text_and_the_values_said_with_it_name_each_other() -> None:
    """No value is said that its text does not show, none is shown that is not said; tables fill theirs in later."""
    for place, call in _said():
        assert isinstance(call.func, ast.Name)
        texts = [ast.literal_eval(argument) for argument in call.args[1 : CALLS[call.func.id]]]
        values = {keyword.arg for keyword in call.keywords}
        if values:
            assert values - {"count"} == set(names_in(texts[-1])) - {"count"}, place
