"""Suggestions of a refusal, each tried out before it is given.

Rules of this file
------------------
- A suggestion is given where, put alone at its pointer, it leaves nothing wrong with that field.
- Where the field is then refused once more with another value that works, that one is given: it serves both limits.
- Where it brings out something wrong with another field, it is given: that would be told next anyway.
- How a spec is tried is the pipeline's business; a refusal is rare, so that trying costs little.
"""

from collections.abc import Callable
from dataclasses import replace

from service.planner.asked.changes import changed
from service.planner.asked.spec import Spec
from service.planner.errors import FieldProblem, SpecError
from service.planner.messages import say

MOST_TRIALS = 4
"""How often a suggestion is replaced by the next; a limit on effort [-]"""
OUT_OF_BOUNDS = say("spec.out_of_bounds", "is out of the bounds of its field")
"""What is wrong with a suggestion that its field does not take; nobody is told"""
Try = Callable[[Spec], object]
"""What builds a spec, or raises what is wrong with it"""


def tried_out(spec: Spec, error: SpecError, build: Try) -> tuple[FieldProblem, ...]:
    """Return a refusal's problems with the suggestions that work.

    Parameters
    ----------
    spec
        The spec that was refused.
    error
        Its refusal.
    build
        Builds a spec, or raises what is wrong with it.
    """
    return tuple(
        problem if problem.suggestion is None else _tried(spec, problem, build) for problem in error.errors
    )


def _tried(spec: Spec, problem: FieldProblem, build: Try) -> FieldProblem:
    """Return a problem with a suggestion that works, its own or one that it leads to; else with none."""
    suggestion = problem.suggestion
    for _ in range(MOST_TRIALS):
        again = _refusal(spec, problem.pointer, suggestion, build)
        if again is None:
            return replace(problem, suggestion=suggestion)
        if again.suggestion is None or again.suggestion == suggestion:
            break
        suggestion = again.suggestion
    return replace(problem, suggestion=None)


def _refusal(spec: Spec, pointer: str, suggestion: object, build: Try) -> FieldProblem | None:
    """Tell what is still wrong with a field that takes a suggestion; none where nothing is."""
    try:
        build(changed(spec, ((pointer, suggestion),)))
    except SpecError as error:
        return next((problem for problem in error.errors if problem.pointer == pointer), None)
    except ValueError:
        # out of the bounds of its field
        return FieldProblem(pointer=pointer, detail=OUT_OF_BOUNDS)
    return None
