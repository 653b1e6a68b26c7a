"""A program with some of its pieces left out, and its solutions told in terms of the whole one again."""

from collections.abc import Mapping
from dataclasses import replace

from service.planner.records import record
from service.planner.solver.courses.pieces import Block, Kinds, Piece
from service.planner.solver.courses.program import Chosen, Plan, Program, list_patterns
from service.planner.solver.courses.strips import Pattern

PATTERNS = 1_200
"""How many patterns of the pieces that are left are listed [-]."""


@record
class Narrowed:
    """A program of some pieces of another.

    Parameters
    ----------
    program
        The program of these pieces, their kinds and slots numbered anew.
    kept
        For every block which of its pieces they are [-].
    slots
        Number of every slot in the whole program [-].
    """

    program: Program
    kept: list[list[bool]]
    slots: list[int]

    def widened(self, plan: Plan) -> Plan:
        """Tell a plan in terms of the whole program; it costs the same, though patterns may have room for more than is cut."""
        chosen = plan.chosen
        pieces = []
        for kept, counts in zip(self.kept, chosen.pieces, strict=True):
            left = iter(counts)
            pieces.append([next(left) if keep else 0 for keep in kept])
        slots = dict(enumerate(self.slots))
        strips = [(at, _told_by(pattern, slots)) for at, pattern in chosen.strips]
        widened = Chosen(pieces=pieces, strips=strips, opened=chosen.opened)
        return Plan(chosen=widened, cost=plan.cost)


def narrow(program: Program, kept: list[list[bool]], known: list[list[Pattern]] | None = None) -> Narrowed:
    """Leave pieces out of a program, and list the patterns of the others.

    Parameters
    ----------
    program
        The whole program.
    kept
        For every block which of its pieces are kept [-].
    known
        Patterns of every strip that are to be listed, their slots numbered in the order of those kept; None to list
        all there are if they are not too many.
    """
    pieces = [
        [piece for piece, keep in zip(block.pieces, own, strict=True) if keep]
        for block, own in zip(program.blocks, kept, strict=True)
    ]
    used = sorted({piece.kind for own in pieces for piece in own})
    kinds = Kinds(
        longest=program.kinds.longest,
        grid=program.kinds.grid,
        max_span=program.kinds.max_span,
        lengths=[program.kinds.lengths[kind] for kind in used],
        classes=[program.kinds.classes[kind] for kind in used],
    )
    slots = sorted({program.slot_of[kind] for kind in used})
    slot_at = {slot: at for at, slot in enumerate(slots)}
    kind_at = {kind: at for at, kind in enumerate(used)}
    slot_of = [slot_at[program.slot_of[kind]] for kind in used]
    lengths = [program.slots[slot] for slot in slots]
    if known is None:
        patterns, listed = list_patterns(
            program.strips, program.kerf, kinds.classes, slot_of, lengths, PATTERNS
        )
    else:
        patterns, listed = known, True
    narrowed = replace(
        program,
        blocks=[
            _renumbered(block, own, kinds, kind_at) for block, own in zip(program.blocks, pieces, strict=True)
        ],
        kinds=kinds,
        slot_of=slot_of,
        slots=lengths,
        patterns=patterns,
        listed=listed,
        listing=None,
        slotted=None,
    )
    return Narrowed(program=narrowed, kept=kept, slots=slots)


def _told_by(pattern: Pattern, numbers: Mapping[int, int]) -> Pattern:
    """Return a pattern with other numbers of its slots."""
    return Pattern(tuple([(numbers[slot], n) for slot, n in pattern.counts]), pattern.flush)


def _renumbered(block: Block, pieces: list[Piece], kinds: Kinds, kind_at: dict[int, int]) -> Block:
    """Return a block of some of its pieces."""
    own = [Piece(kind_at[piece.kind], piece.place, piece.rows) for piece in pieces]
    return replace(block, pieces=own, kinds=kinds)
