"""What is kept from plan to plan: the one place that says what, how much and for how long.

Rules of this file
------------------
- An answer is kept only where it follows from its question alone, so that keeping it changes no plan.
- What follows from a catalog is kept with that catalog and goes when it goes: nothing else remembers a catalog, and
  nothing rests on where in memory a thing lies.
- What follows from numbers, texts and values is remembered until so many later questions have been asked since.
- Both are bounded by the table here. Answers of the solvers are kept by bytes and by
  what finding them cost: ``solver/kept.py``.
"""

from collections.abc import Callable, Hashable, Mapping
from functools import lru_cache, wraps
from typing import Any, Concatenate, Final, Literal, ParamSpec, Protocol, TypeVar, cast

Question = ParamSpec("Question")
Answer = TypeVar("Answer")
Remembered = Literal[
    "side", "figures", "layers", "wind", "steps", "fields", "messages", "lengths", "readings"
]
WithCatalog = Literal["catalogs", "sections", "screws"]

MOST: Final[Mapping[Remembered | WithCatalog, int]] = {
    # what, then how many answers each function of that kind keeps
    # remembered, those longest unasked leaving first
    "side":     64,      # whole sheets, spans, growth: both sides of a tunnel ask alike
    "figures":  64,      # screw tables by number and point, of which there are few
    "layers":   1_024,   # what a screw passes: metals, clearance holes, drills
    "wind":     256,     # pressures and allowables
    "steps":    1_024,   # rows of the precedence tables that appear, tools, cautions
    "fields":   512,     # types and readers of the spec's fields
    "messages": 4_096,   # names that a text holds
    "lengths":  16_384,  # lengths as texts
    "readings": 4_096,   # texts as lengths, thicknesses in millimetres
    # kept with one catalog, beginning anew when they are so many
    "catalogs": 16,      # the same catalog at agreed prices, or with less stock
    "sections": 128,     # sections, sheets and what goes with them
    "screws":   1_024,   # choices of a screw for what it passes
}  # fmt: skip
# the table is read in columns
"""How many answers are kept [-]"""

_MISSING: Final = object()


class Keeper(Protocol):
    """What answers can be kept with."""

    @property
    def kept(self) -> dict[Hashable, dict[Hashable, Any]]:
        """Answers by function and question."""


Owner = TypeVar("Owner", bound=Keeper)


def remembered(kind: Remembered) -> Callable[[Callable[Question, Answer]], Callable[Question, Answer]]:
    """Remember a function's answers, whoever asks.

    Parameters
    ----------
    kind
        Row of the table that says how many.
    """

    def remember(function: Callable[Question, Answer]) -> Callable[Question, Answer]:
        return cast("Callable[Question, Answer]", lru_cache(maxsize=MOST[kind])(function))

    return remember


def kept_with_catalog(
    kind: WithCatalog,
) -> Callable[
    [Callable[Concatenate[Owner, Question], Answer]], Callable[Concatenate[Owner, Question], Answer]
]:
    """Keep the answers of a function of a catalog with that catalog.

    An answer must not be the catalog itself, which could then not go.

    Parameters
    ----------
    kind
        Row of the table that says how many.
    """
    most = MOST[kind]

    def keep(
        function: Callable[Concatenate[Owner, Question], Answer],
    ) -> Callable[Concatenate[Owner, Question], Answer]:
        @wraps(function)
        def asked(owner: Owner, /, *question: Question.args, **named: Question.kwargs) -> Answer:
            answers = owner.kept.get(function)
            if answers is None:
                answers = owner.kept.setdefault(function, {})
            key = (question, *named.items()) if named else question
            # threads ask at once: what is found is taken in one go, and nothing is read back
            found = answers.get(key, _MISSING)
            if found is not _MISSING:
                return cast("Answer", found)
            if len(answers) >= most:
                answers.clear()
            answer = answers[key] = function(owner, *question, **named)
            return answer

        return asked

    return keep
