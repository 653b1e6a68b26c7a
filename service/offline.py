"""A plan without a socket: the answer, byte for byte, that HTTP would give.

Rules of this file
------------------
- The same steps as the handler of `POST /v1/plans`, for the open dealer's catalogs.
"""

from asyncio import Event

import orjson
from starlette.types import Message

from service.api import problems
from service.api.access import OPEN
from service.api.exchange import Exchange
from service.api.plans import PLAN
from service.api.problems import Problem
from service.api.questions import answered
from service.app import build
from service.settings import Settings


async def plan(settings: Settings, body: bytes) -> tuple[int, bytes]:
    """Plan one spec.

    Parameters
    ----------
    settings
        The operator's settings.
    body
        The spec as JSON.

    Returns
    -------
        Exit status and the plan, or 1 and the problem.
    """
    service = build(settings)
    await service.store.start()
    try:
        finished = await answered(
            service, Exchange(receive=_stays, request_id="command-line"), OPEN, PLAN, body
        )
    except Problem as refusal:
        return 1, written(refusal)
    finally:
        await service.store.close()
    return 0, finished.content


async def _stays() -> Message:
    """What a caller at the command line sends after its question: nothing, for it waits."""
    await Event().wait()
    return {}


def written(problem: Problem) -> bytes:
    """Write a problem as the command line tells it."""
    return orjson.dumps(problems.as_document(problem, "/requests/command-line"), default=str)
