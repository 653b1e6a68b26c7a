"""Extracting: every message of the source in the catalogs, and nothing else in them.

Rules of this file
------------------
- The texts are found in the calls of `say`, `say_count` and `noun`; their codes become gettext contexts. Those of the
  order of work, of checks and of kinds of problem come from their tables. (Babel's own reader of Python loses calls with calls among their arguments.)
- What is new comes in empty; what has changed in English comes in fuzzy and is not used until somebody has looked.
  What is no longer said goes out.
- Line numbers are left out, so that a catalog changes only where a text does.
"""

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog
from babel.messages.catalog import Message as Entry
from babel.messages.pofile import write_po

from service.planner.sequencing.step_texts import texts_of_the_tables
from service.words.languages import CATALOGS, TRANSLATED, forms_of, read_catalog

SOURCE: Final = Path(__file__).parents[1]
"""The package whose texts are translated"""
CALLS: Final = {"say": 2, "say_count": 3, "noun": 3}
"""Calls that hold texts, and how many of their arguments do: the code, then one text or two forms [-]"""


def texts_of(source: str) -> Iterator[tuple[str, ...]]:
    """Find the texts in a module's source.

    Raises
    ------
    ValueError
        When a code or a text is no literal, so that it could not be translated.
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
            held = [argument.value for argument in node.args if isinstance(argument, ast.Constant)]
            texts = tuple(text for text in held if isinstance(text, str))
            if len(texts) != CALLS[node.func.id] or len(node.args) != len(texts):
                raise ValueError(f"line {node.lineno}: a code and its text are literals")
            yield texts
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Kind":
            yield from _title(node)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "_kind":
            yield from _problem(node)


def _title(kind: ast.Call) -> Iterator[tuple[str, str]]:
    """Find the title of a kind of check, which is named by the check."""
    match [argument.value for argument in kind.args if isinstance(argument, ast.Constant)]:
        case [str(name), str(title), *_]:
            yield f"check.{name}", title


def _problem(kind: ast.Call) -> Iterator[tuple[str, str]]:
    """Find the texts of a kind of problem, which are named by its slug."""
    match [argument.value for argument in kind.args if isinstance(argument, ast.Constant)]:
        case [str(slug), int(), str(title), str(meaning), str(remedy)]:
            yield f"problem.{slug}.title", title
            yield f"problem.{slug}.meaning", meaning
            yield f"problem.{slug}.remedy", remedy


def template() -> Catalog:
    """Find every text of the source."""
    found = Catalog(project="shin-wall-planner", charset="utf-8")
    for path in sorted(SOURCE.rglob("*.py")):
        for call in texts_of(path.read_text()):
            code, *forms = call
            found.add(
                tuple(forms) if len(forms) > 1 else forms[0],
                context=code,
                locations=[(path.relative_to(SOURCE).as_posix(), 0)],
            )
    for message in texts_of_the_tables():
        found.add(message.text, context=message.code, locations=[("planner/sequencing/steps.py", 0)])
    return found


def updated(tag: str) -> Catalog:
    """Bring a language's catalog up to date with the texts of the source."""
    catalog = read_catalog(tag)
    created = catalog.creation_date
    # a template is for one language: Babel moves its entries, it does not copy them
    catalog.update(template(), no_fuzzy_matching=True)
    catalog.creation_date = created  # else every run would change the file
    old = {entry.context: entry for entry in catalog.obsolete.values()}
    for entry in catalog:
        before = old.get(entry.context)
        if (
            entry.context
            and before is not None
            and not any(forms_of(entry))
            and type(before.id) is type(entry.id)
        ):
            entry.string = before.string
            entry.flags.add("fuzzy")
    catalog.obsolete.clear()
    return catalog


def incomplete(catalog: Catalog) -> Iterator[Entry]:
    """List the texts that a catalog has no usable translation of."""
    for entry in catalog:
        if entry.id and (entry.fuzzy or not all(forms_of(entry))):
            yield entry


def update() -> dict[str, int]:
    """Bring every catalog up to date.

    Returns
    -------
        How many texts wait for a translation, by language.
    """
    waiting = {}
    for tag in TRANSLATED:
        catalog = updated(tag)
        with (CATALOGS / f"{tag}.po").open("wb") as file:
            write_po(file, catalog, width=110, omit_header=False, sort_output=True, include_lineno=False)
        waiting[tag] = sum(1 for _ in incomplete(catalog))
    return waiting
