"""How calls are counted against a rate limit.

Rules of this module: arithmetic on whole microseconds, no server. The same rule counts in the server
(`service.store.scripts.COUNT`) and, while it is away, in the worker.

Notes
-----
One number says everything about a caller: the moment at which all its units are there again. A call pushes that moment
ahead by its units' share of the window, and is refused when that would be more than a whole window ahead. A window's
units may thus be used at once, and come back evenly. This is the generic cell rate algorithm.

References
----------
ITU-T Recommendation I.371 (03/2004), annex A, virtual scheduling form (from memory).
"""

from service.store.contract import Allowance, RateLimit

MICROSECONDS = 1_000_000
"""In a second [us/s]."""


def interval(limit: RateLimit) -> int:
    """The time in which one unit comes back [us]."""
    return max(1, limit.window_s * MICROSECONDS // limit.units)


def arrive(full_at: int, now: int, limit: RateLimit, units: int) -> tuple[int, Allowance]:
    """Count one call.

    Parameters
    ----------
    full_at
        When all units are there again; in the past for a caller not seen yet [us].
    now
        The moment of the call [us].
    limit
        How much is allowed [-].
    units
        What the call takes [-].

    Returns
    -------
    tuple
        The new `full_at` [us] and the answer.
    """
    step = interval(limit)
    most = step * limit.units
    before = min(max(full_at, now), now + most)
    after = before + units * step
    wait = after - now - most
    full_at = before if wait > 0 else after
    return full_at, answer(wait <= 0, full_at - now, max(wait, 0), limit, shared=False)


def answer(allowed: bool, reset: int, wait: int, limit: RateLimit, *, shared: bool) -> Allowance:
    """Say the outcome of a count in the contract's terms.

    Parameters
    ----------
    allowed
        Whether the units were granted [-].
    reset
        Time until all units are there again [us].
    wait
        Time until refused units are there [us].
    limit
        The limit counted against [-].
    shared
        Whether all workers counted together [-].
    """
    step = interval(limit)
    return Allowance(
        allowed=allowed,
        remaining=max(0, limit.units - -(-reset // step)),
        reset_s=reset / MICROSECONDS,
        retry_after_s=wait / MICROSECONDS,
        shared=shared,
    )
