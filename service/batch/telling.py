"""Tells how a job is going, and what came out of it.

Rules of this file
------------------
- Results come in the order of the list, from the first chunk on, and follow the work while it runs.
"""

import asyncio
from collections.abc import AsyncIterator
from typing import Any, Final

import orjson
from anyio.to_thread import run_sync

from service.api.problems import Problem
from service.batch import writing
from service.batch.asking import CSV
from service.batch.ledger import Ledger
from service.planner.fields import money_text
from service.planner.messages import say

POLL: Final = 0.25
"""How often results that are not there yet are looked for [s]"""


def told(ledger: Ledger, dealer: str, job: str) -> dict[str, Any]:
    """Tell how a job is going.

    Raises
    ------
    Problem
        When the dealer has no such job.
    """
    held = ledger.told(dealer, job)
    if held is None:
        raise Problem("not-found", say("job.none", "There is no such job."))
    done, structures = int(held.get("done", 0)), int(held["structures"])
    ended = float(held["ended"]) if "ended" in held else ledger.now()
    seconds = ended - float(held.get("started", ended))
    rate = done / seconds if seconds > 0 and done else None
    return {
        "id": job,
        "state": held["state"],
        "structures": structures,
        "done": done,
        "refused": int(held.get("refused", 0)),
        "rate_per_s": rate and round(rate, 2),
        "seconds_left": rate and round((structures - done) / rate, 1),
        "totals": {
            name[6:]: money_text(int(sum_))
            for name, sum_ in sorted(held.items())
            if name.startswith("total:")
        },
        "outcomes": {
            name[8:]: int(count) for name, count in sorted(held.items()) if name.startswith("outcome:")
        },
        "results": f"/v1/jobs/{job}/results",
    }


async def results(ledger: Ledger, dealer: str, job: str, answered_as: str) -> AsyncIterator[bytes]:
    """Follow a job's chunks to its end, or to where it was cancelled."""
    table = answered_as == CSV
    form = writing.FORMS[answered_as]
    yield form.first()
    number = 0
    while True:
        held = await run_sync(ledger.told, dealer, job)
        if held is None or (held["state"] != "receiving" and number >= int(held["chunks"])):
            break
        content = await run_sync(ledger.result, job, number)
        if content is not None:
            yield (
                b"".join(map(writing.csv_row_of, map(orjson.loads, content.splitlines())))
                if table
                else content
            )
            number += 1
        elif held["state"] == "cancelled":
            break
        else:
            await asyncio.sleep(POLL)
    end = await run_sync(told, ledger, dealer, job)
    yield form.last(
        {
            **{name: end[name] for name in ("structures", "refused", "totals", "state")},
            "planned": end["done"] - end["refused"],
            "repeated": 0,
            "outcomes": {
                name: {"count": count, "share": round(count / max(1, end["done"] - end["refused"]), 4)}
                for name, count in end["outcomes"].items()
            },
            "seconds": round(end["done"] / end["rate_per_s"], 3) if end["rate_per_s"] else 0.0,
        }
    )
