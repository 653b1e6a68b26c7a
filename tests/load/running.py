"""The service as a process of its own: started by its command, watched through /proc, stopped as an operator would.

Rules of this module: the environment holds what the caller says and what Python needs, so that no setting of the
machine changes a figure.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.error import URLError

ROOT = Path(__file__).parents[2]
"""The project's folder"""
PAGE = os.sysconf("SC_PAGE_SIZE")
"""A page of memory [B]"""
TICK = 1 / os.sysconf("SC_CLK_TCK")
"""A tick of the processor's clock [s]"""
START_BOUND = 180.0
"""A service that is not ready by then has failed; as long as a container's start may take, which compiles first [s]"""


@dataclass(frozen=True, slots=True)
class Running:
    """A service that answers."""

    process: subprocess.Popen[bytes]
    """The process that was started"""
    port: int
    """Where it listens [-]"""
    start_seconds: float
    """From the start of the process to its first readiness [s]"""

    def processes(self) -> list[int]:
        """The process and the workers below it."""
        below = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text(encoding="ascii")
        return [self.process.pid, *map(int, below.split())]

    def memory(self) -> int:
        """The memory that is resident, of all processes together [B]."""
        return sum(
            PAGE * int(Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1])
            for pid in self.processes()
        )

    def processor_seconds(self) -> float:
        """The processor time used so far, of all processes together [s]."""
        return sum(map(processor_seconds, self.processes()))

    def terminate(self) -> None:
        """Ask it to stop; what it accepted is finished first."""
        self.process.send_signal(signal.SIGTERM)


def processor_seconds(pid: int) -> float:
    """The processor time that a process has used so far [s]."""
    # proc(5): user and system time are the 14th and 15th fields; the second one, in brackets, may hold blanks.
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) * TICK


@dataclass(frozen=True, slots=True, kw_only=True)
class Launch:
    """How the process is started."""

    command: tuple[str, ...] = (sys.executable, "-m", "service", "serve")
    """Program and arguments [-]"""
    user: int | None = None
    """Under which user; None: this one [-]"""
    folder: Path = ROOT
    """Working directory [-]"""
    environment: Mapping[str, str] = field(default_factory=dict)
    """What else its environment holds [-]"""


@contextmanager
def service(port: int, settings: Mapping[str, str], launch: Launch | None = None) -> Iterator[Running]:
    """Run the service for a while, ready when it is handed out.

    Parameters
    ----------
    port
        Where it is to listen on the loopback [-].
    settings
        Settings by their names after `SHIN_WALL_` [-].
    launch
        How the process is started [-].
    """
    launch = launch or Launch()
    environment = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    environment |= launch.environment
    environment |= {"SHIN_WALL_PORT": str(port), "SHIN_WALL_LOG_LEVEL": "ERROR"}
    environment |= {f"SHIN_WALL_{name}": value for name, value in settings.items()}
    began = time.perf_counter()
    with subprocess.Popen(launch.command, env=environment, cwd=launch.folder, user=launch.user) as process:
        try:
            yield Running(process, port, _until_ready(process, port) - began)
        finally:
            process.terminate()
            try:
                process.wait(timeout=30)
            except subprocess.TimeoutExpired:
                process.kill()


def _until_ready(process: subprocess.Popen[bytes], port: int) -> float:
    """Wait for the first readiness, which may have to compile first, and give its moment [s]."""
    deadline = time.perf_counter() + START_BOUND
    while time.perf_counter() < deadline and process.poll() is None:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/readyz", timeout=2):
                return time.perf_counter()
        except (URLError, OSError):
            time.sleep(0.02)
    raise AssertionError("the service did not become ready")
