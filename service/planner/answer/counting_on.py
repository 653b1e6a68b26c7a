"""Ids that count on: the first and the last of them stand for all, `left-1-hook-1..12`.

Rules of this file
------------------
- Only neighbours in a list that count on by one are written so; `each_of` gives the list back.
"""

from collections.abc import Iterable, Iterator


def counted_on(names: Iterable[str]) -> Iterator[str]:
    """Write ids that count on by the first and the last of them."""
    held: list[tuple[str, int, int]] = []
    for name in names:
        stem, number = _stem(name)
        if held and number and held[-1][0] == stem and held[-1][2] == number - 1:
            held[-1] = stem, held[-1][1], number
        else:
            held.append((stem, number, number))
    return (
        f"{stem}{first}..{last}" if last > first else f"{stem}{first}" if first else stem
        for stem, first, last in held
    )


def _stem(name: str) -> tuple[str, int]:
    """Take the number off the end of an id; 0 where there is none."""
    stem, hyphen, number = name.rpartition("-")
    return (stem + hyphen, int(number)) if number.isdecimal() and number[0] != "0" else (name, 0)


def each_of(names: Iterable[str]) -> Iterator[str]:
    """Write every one of ids that count on."""
    for name in names:
        first, dots, last = name.rpartition("..")
        if not dots:
            yield name
            continue
        stem, number = _stem(first)
        yield from (f"{stem}{each}" for each in range(number, int(last) + 1))
