"""Reads the few instructions of the container file that its tests start the service with."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass

from tests.load.running import ROOT

FILE = ROOT / "deploy" / "Containerfile"
"""The container file"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Image:
    """What the last stage of the container file says."""

    entry: tuple[str, ...]
    """The command of a container [-]"""
    health: tuple[str, ...]
    """The command of its health check [-]"""
    environment: dict[str, str]
    """Its environment [-]"""
    user: int
    """Its user [-]"""


def read() -> Image:
    """Read the last stage."""
    lines = FILE.read_text(encoding="utf-8").replace("\\\n", " ").splitlines()
    last = max(number for number, line in enumerate(lines) if line.startswith("FROM "))
    said = dict(line.split(maxsplit=1) for line in lines[last:] if line.strip() and line[0] != "#")
    return Image(
        entry=(*json.loads(said["ENTRYPOINT"]), *json.loads(said["CMD"])),
        health=tuple(json.loads(said["HEALTHCHECK"].partition(" CMD ")[2])),
        environment=dict(re.findall(r"(\w+)=(\S+)", said["ENV"])),
        user=int(said["USER"].partition(":")[0]),
    )


def stop_signal() -> str:
    """The name of the signal that stops a container."""
    (line,) = [
        line for line in FILE.read_text(encoding="utf-8").splitlines() if line.startswith("STOPSIGNAL ")
    ]
    return line.split()[1]
