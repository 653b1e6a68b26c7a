"""Commands: serve, plan a file, print the contract, compile the solver, run the benchmark.

Rules of this file
------------------
- It reads arguments and calls; what is done is done elsewhere.
"""

import argparse
import sys
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

import anyio
import orjson
import uvicorn

from service import offline
from service.api.problems import Problem
from service.app import create_app
from service.batch.asking import CSV, JSON_LINES
from service.batch.queues import open_queue
from service.batch.work import work as run_worker
from service.machine_code import compiled_once, folder
from service.planner.plan import warm_up
from service.price import price as price_file
from service.settings import Settings
from service.words import extracting


def serve(arguments: argparse.Namespace) -> int:
    """Answer over HTTP until told to stop; what was accepted is finished first."""
    settings = Settings()
    uvicorn.run(
        "service.app:create_app",
        factory=True,
        host=arguments.host or settings.host,
        port=settings.port if arguments.port is None else arguments.port,
        workers=arguments.workers,
        server_header=False,
        proxy_headers=False,  # who a visitor is follows from the proxies in the settings alone
        access_log=False,
        log_level="warning",
        timeout_graceful_shutdown=settings.drain_seconds,
        # longer than the usual 60 s of a proxy, so that it never sends into a connection that is being closed
        timeout_keep_alive=75,
    )
    return 0


def plan(arguments: argparse.Namespace) -> int:
    """Plan a spec from a file, or from the standard input, and print what HTTP would answer."""
    body = sys.stdin.buffer.read() if arguments.file == "-" else Path(arguments.file).read_bytes()
    status, answer = anyio.run(offline.plan, Settings(), body)
    sys.stdout.buffer.write(answer + b"\n")
    return status


def price(arguments: argparse.Namespace) -> int:
    """Plan a bid list from a file; the exit status tells whether every structure could be planned."""
    answered_as = {"csv": CSV, "jsonl": JSON_LINES[0], None: None}[arguments.answer]
    try:
        run = partial(price_file, combine=arguments.combine)
        tally = anyio.run(run, Settings(), Path(arguments.file), answered_as, arguments.parts)
    except Problem as refusal:
        print(offline.written(refusal).decode(), file=sys.stderr)  # noqa: T201  # a message of the command line
        return 2
    return 1 if tally.refused else 0


def contract(_: argparse.Namespace) -> int:
    """Print the contract."""
    document = create_app(Settings()).openapi()
    sys.stdout.buffer.write(orjson.dumps(document, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE))
    return 0


def compile_solver(_: argparse.Namespace) -> int:
    """Compile the solver for this processor, or find that it is."""
    with compiled_once():
        warm_up()
    print(f"The compiled solver is kept in {folder()}.")  # noqa: T201  # what the command is for
    return 0


def work(_: argparse.Namespace) -> int:
    """Plan jobs from the queue until told to stop."""
    queue = open_queue(Settings())
    if queue is None:
        print("Set SHIN_WALL_QUEUE_URL to the queue's Redis.", file=sys.stderr)  # noqa: T201  # a message of the command line
        return 2
    run_worker(queue)
    return 0


def translate(_: argparse.Namespace) -> int:
    """Bring the catalogs of texts up to date with the source, and say what waits for a translation."""
    for tag, waiting in extracting.update().items():
        print(f"{tag}: {waiting} to translate")  # noqa: T201  # what the command is for
    return 0


def bench(arguments: argparse.Namespace) -> int:
    """Run the benchmark; it has arguments of its own."""
    from service.bench import run  # noqa: PLC0415  # its solvers are slow to load and no other command wants them

    return run(arguments.rest)


def read_arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m service", description=__doc__.partition("\n")[0])
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    def add(name: str, run: Callable[[argparse.Namespace], int], summary: str) -> argparse.ArgumentParser:
        # the benchmark's own parser answers for its arguments, --help included
        command = commands.add_parser(name, help=summary, description=summary, add_help=run is not bench)
        command.set_defaults(run=run)
        return command

    serving = add("serve", serve, "Answer over HTTP")
    serving.add_argument("--host", help="address to listen on")
    serving.add_argument("--port", type=int, help="port to listen on; 0 takes a free one")
    serving.add_argument("--workers", type=int, default=1, help="processes that answer")
    planning = add("plan", plan, "Plan a spec and print the answer")
    planning.add_argument("file", help="file with the spec, or - for the standard input")
    add("openapi", contract, "Print the contract")
    pricing = add("price", price, "Plan a bid list, CSV or JSON Lines, and print a line a structure")
    pricing.add_argument("file", help="the bid list; CSV where its name ends in .csv")
    pricing.add_argument("--answer", choices=("csv", "jsonl"), help="how to answer; as the list by default")
    pricing.add_argument(
        "--parts", default="summary", help="parts of a plan that each line holds, parted by commas"
    )
    pricing.add_argument("--combine", action="store_true", help="end in one order of all structures")
    add("work", work, "Plan jobs from the queue")
    add("compile", compile_solver, "Compile the solver for this processor, once")
    add("words", translate, "Bring the catalogs of texts up to date with the source")
    add("bench", bench, "Run the benchmark; its own arguments follow")
    chosen, rest = parser.parse_known_args(words)
    if rest and chosen.run is not bench:
        parser.error(f"unrecognized arguments: {' '.join(rest)}")
    chosen.rest = rest
    return chosen


def run(words: Sequence[str] | None = None) -> int:
    """Run a command.

    Parameters
    ----------
    words
        The command line; that of the process by default.

    Returns
    -------
        Exit status.
    """
    chosen = read_arguments(words)
    status: int = chosen.run(chosen)
    return status
