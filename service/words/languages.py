"""Languages: read from their catalogs once, chosen by what a request accepts.

Rules of this file
------------------
- A catalog is a gettext file; a message is found by its context, which is its code. Fuzzy entries are not used.
- A language fits whatever region is asked for: es-MX is answered in Spanish. Where nothing fits, English is (RFC 9110
  section 12.5.4 lets a server answer in another language).
"""

from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final

from babel.core import Locale
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po
from babel.numbers import get_decimal_symbol

from service.planner.writing import ENGLISH, Language

CATALOGS: Final = Path(__file__).parent / "catalogs"
"""Where the catalogs are"""
TRANSLATED: Final = ("es", "fr")
"""Languages with a catalog"""
SPOKEN: Final = ("en", *TRANSLATED)
"""Every language, the one preferred where all are equal first"""
MOST_RANGES: Final = 50
"""Language ranges of a header that are read at most [-]"""


def read_catalog(tag: str) -> Catalog:
    """Read a language's catalog."""
    with (CATALOGS / f"{tag}.po").open("rb") as file:
        return read_po(file, locale=tag, abort_invalid=True)


def forms_of(message: Message) -> tuple[str, ...]:
    """The translations of a message, one or in its two forms; empty where there is none yet."""
    held: Any = message.string
    return tuple(held) if isinstance(held, (tuple, list)) else (held or "",)


def language_from(catalog: Catalog, tag: str) -> Language:
    """Make a language of a catalog.

    Parameters
    ----------
    catalog
        Its texts.
    tag
        Its BCP 47 language tag.
    """
    texts = {
        message.context: forms_of(message)
        for message in catalog
        if message.context and not message.fuzzy and all(forms_of(message))
    }
    # which form for how many: CLDR's categories one and other, which gettext's header repeats
    one = Locale.parse(tag).plural_form
    return Language(
        tag=tag,
        decimal=get_decimal_symbol(tag),
        texts=texts,
        form=lru_cache(maxsize=1024)(lambda number: int(one(number) != "one")),
    )


@cache
def languages() -> dict[str, Language]:
    """Give every language by its tag."""
    return {"en": ENGLISH} | {tag: language_from(read_catalog(tag), tag) for tag in TRANSLATED}


@cache
def texts_under(tag: str, start: str) -> dict[str, str]:
    """Give a language's texts by code, of the codes that begin so; braces hold what is filled in."""
    held = read_catalog(TRANSLATED[0] if tag == "en" else tag)
    messages = [message for message in held if str(message.context or "").startswith(start)]
    first = {str(message.context): _first(message.id) for message in messages}
    if tag != "en":
        first |= {str(message.context): forms_of(message)[0] for message in messages}
    return dict(sorted(first.items()))


def _first(text: Any) -> str:  # noqa: ANN401  # the library's type: a text, or its two forms
    """A text, or the first of its forms."""
    return text if isinstance(text, str) else str(text[0])


def _weight(parameters: str) -> float:
    """Read a range's weight; 1 where there is none, 0 where it cannot be read."""
    name, _, value = parameters.strip().partition("=")
    if name.strip().lower() != "q":
        return 1.0
    try:
        weight = float(value)
    except ValueError:
        return 0.0
    return weight if 0 <= weight <= 1 else 0.0


@lru_cache(maxsize=256)
def choose(accept_language: str) -> str:
    """Choose the language that a request accepts most (RFC 9110 section 12.5.4, RFC 4647 section 3.3.1).

    Parameters
    ----------
    accept_language
        The header's value; empty where there is none.

    Returns
    -------
        A tag of `SPOKEN`.
    """
    weights: dict[str, float] = {}
    for element in accept_language.split(",")[:MOST_RANGES]:
        accepted, _, parameters = element.partition(";")
        name = accepted.strip().lower().partition("-")[0]
        weights[name] = max(weights.get(name, 0.0), _weight(parameters))
    others = weights.get("*", 0.0)
    return max(SPOKEN, key=lambda tag: weights.get(tag, others))


def accepted(accept_language: str) -> Language:
    """The language that a request accepts most."""
    return languages()[choose(accept_language)]
