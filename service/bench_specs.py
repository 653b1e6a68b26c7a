"""Realistic structure specs, made from a seed: what a dealer's form sends.

What "realistic" means is what `service.bench_structures` says of it: its shares and its tables, as request bodies.
"""

from collections.abc import Sequence
from random import Random
from typing import Any, TypeVar

from service import bench_structures as shares

Value = TypeVar("Value")

THICKNESSES = (("6 mm", 2), ("8 mm", 5), ("10 mm", 2), ("16 mm", 1))


def make_spec(random: Random, reference: str) -> dict[str, Any]:
    """Draw one spec.

    Parameters
    ----------
    random
        The source of chance.
    reference
        Its reference; two specs with different references are different questions.
    """
    metric = random.random() < shares.METRIC_SHARE
    sides = ["left"] if random.random() < shares.ONE_SIDE_SHARE else ["left", "right"]
    wall: dict[str, Any] = {
        "panel_thickness": _weighted(random, THICKNESSES),
        "height": _height(random, metric=metric),
    }
    if len(sides) > 1 and random.random() < shares.TWO_HEIGHTS_SHARE:
        wall["per_side"] = {"right": {"height": _height(random, metric=metric)}}
    options: dict[str, Any] = {}
    if random.random() < shares.FLAP_SHARE:
        options["wind_flaps"] = ["left-front", "left-back"]
    return {
        "reference": reference,
        "display_units": "metric" if metric else "imperial",
        "structure": {"sides": sides, **_posts(random, sides, metric=metric)},
        "wall": wall,
        "options": options,
    }


def _weighted(random: Random, table: Sequence[tuple[Value, int]]) -> Value:
    """Draw a value from a table of values and weights."""
    return random.choices([value for value, _ in table], [weight for _, weight in table])[0]


def _height(random: Random, *, metric: bool) -> float | str:
    """Draw a height, in millimetres or as a text."""
    inches = _weighted(random, shares.HEIGHTS)
    return inches * 25 - 3 if metric else f"{inches - 1} 7/8 in"


def _posts(random: Random, sides: list[str], *, metric: bool) -> dict[str, Any]:
    """Draw the posts, even or at stations of their own, and perhaps an opening within a bay."""
    bays = min(random.randint(5, 60), random.randint(5, 60))
    spacing = _weighted(
        random, shares.METRIC_SPACINGS if metric else [(each * 25.4, w) for each, w in shares.SPACINGS]
    )
    stations = _stations(random, bays, spacing)
    even = stations == [spacing * bay for bay in range(bays + 1)]
    posts: dict[str, Any] = {"bays": bays, "bay_spacing": spacing} if even else {"stations": stations}
    if random.random() < shares.OPENING_SHARE:
        bay = random.randrange(1, bays - 1)
        room = stations[bay + 1] - stations[bay]
        posts["openings"] = [
            {
                "side": random.choice(sides),
                "offset": round(stations[bay] + room / 5, 1),
                "width": round(room * 3 / 5, 1),
            }
        ]
    return posts


def _stations(random: Random, bays: int, spacing: float) -> list[float]:
    """Draw the posts of a side: on their marks, some aside of them, or all as they were measured."""
    stations = [spacing * bay for bay in range(bays + 1)]
    kind = random.random()
    if kind < shares.DODGED_SHARE:
        for at in random.sample(range(1, bays), random.randint(1, min(3, bays - 1))):
            stations[at] += random.choice((-1, 1)) * round(random.uniform(spacing / 16, spacing / 4), 1)
    elif kind < shares.DODGED_SHARE + shares.AS_BUILT_SHARE:
        stations[1:] = [round(mark + random.uniform(-25.4, 25.4), 1) for mark in stations[1:]]
    return stations
