"""A bid list from a file: the lines that a batch over HTTP would answer, on the command line.

Rules of this file
------------------
- The same reading, planning and writing as over HTTP, from the embedded or the shared catalogs of the settings.
- Progress is shown on a terminal only, on the standard error; what is answered goes to the standard output.
"""

import sys
from collections.abc import AsyncIterator
from contextlib import aclosing
from functools import partial
from pathlib import Path

import anyio
from anyio import AsyncFile
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn, TimeRemainingColumn

from service.api.questions import catalog_for
from service.app import build
from service.batch import writing
from service.batch.asking import CSV, JSON_LINES, parts_of
from service.batch.combining import Basket
from service.batch.planner import Wanted
from service.batch.pool import Planners
from service.batch.records import Record, Refused, read_json, records, split
from service.batch.stream import Asker, Batch
from service.batch.tally import Tally
from service.planner.writing import ENGLISH
from service.settings import Settings
from service.store.contract import OPEN_DEALER, Snapshot

BLOCK = 64 * 1024
"""What is read from the file at a time [B]"""


async def price(
    settings: Settings, file: Path, answered_as: str | None, parts: str, *, combine: bool = False
) -> Tally:
    """Answer the structures of a file.

    Parameters
    ----------
    settings
        The operator's settings.
    file
        The bid list: CSV where its name ends in `.csv`, else JSON Lines.
    answered_as
        Media type of the answer; that of the file by default.
    parts
        Parts of a plan that each line holds, between commas.
    combine
        Whether the list ends in one order.

    Returns
    -------
        What the last line sums up.

    Raises
    ------
    OSError
        When the file cannot be read.
    Problem
        When its header cannot be read, or a part is none.
    """
    service, planners = build(settings), Planners(settings.planners)
    await service.store.start()
    sent = CSV if file.suffix.lower() == ".csv" else JSON_LINES[0]
    most = settings.max_body_bytes

    async def catalog_of(named: tuple[str, str | None]) -> Snapshot[object]:
        return await catalog_for(service, OPEN_DEALER, *named)

    wanted = Wanted(parts=parts_of(parts), language=ENGLISH, units=settings.line_units)
    day = service.now().date().isoformat()
    basket = Basket(wanted=wanted, day=day, units=settings.order_units) if combine else None
    asker = Asker(dealer=OPEN_DEALER, basket=basket)
    batch = Batch(planners, catalog_of, wanted, answered_as or sent, asker)
    console = Console(stderr=True)
    columns = TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn()
    try:
        with Progress(*columns, console=console, disable=not console.is_terminal) as progress:
            shown = progress.add_task("structures", total=_lines(file) - (sent == CSV))
            async with await anyio.open_file(file, "rb") as opened:
                read_line = None if sent == CSV else partial(read_json, most=most)
                await _answer(batch, records(split(_blocks(opened), most), read_line, most), progress, shown)
    finally:
        planners.close()
        await service.store.close()
    return batch.tally


def _lines(file: Path) -> int:
    """Count a file's lines that are not empty [-]."""
    with file.open("rb") as opened:
        return sum(1 for line in opened if line.strip())


async def _blocks(opened: AsyncFile[bytes]) -> AsyncIterator[bytes]:
    while block := await opened.read(BLOCK):
        yield block


async def _answer(
    batch: Batch, found: AsyncIterator[list[Record | Refused]], progress: Progress, shown: TaskID
) -> None:
    """Write every answer to the standard output."""
    form, out = writing.FORMS[batch.answered_as], sys.stdout.buffer
    out.write(form.first())
    async with aclosing(batch.answers(found)) as answers:
        async for answered in answers:
            out.write(form.line(answered))
            progress.advance(shown)
    out.write(form.order(await batch.order()))
    out.write(form.last(batch.tally.summed_up()))
    out.flush()
