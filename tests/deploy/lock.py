"""Writes the lock: the version of every package that the project and its tests rest on, as installed here.

python -m tests.deploy.lock > deploy/lock.txt
"""

import tomllib
from collections.abc import Iterator
from importlib import metadata

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.load.running import ROOT


def asked() -> list[str]:
    """List what the project asks for, its extras included."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [
        *project["dependencies"],
        *(line for lines in project["optional-dependencies"].values() for line in lines),
    ]


def locked() -> Iterator[str]:
    """Name every package that these need, in turn, with the version that is installed."""
    ahead, seen = [Requirement(line) for line in asked()], set()
    while ahead:
        needed = ahead.pop()
        name, extras = canonicalize_name(needed.name), frozenset(needed.extras)
        if (name, extras) in seen:
            continue
        seen.add((name, extras))
        own = metadata.distribution(name)
        yield f"{name}=={own.version}"
        further = map(Requirement, own.requires or ())
        ahead += [
            one
            for one in further
            if one.marker is None or any(one.marker.evaluate({"extra": extra}) for extra in (*extras, ""))
        ]


if __name__ == "__main__":
    print("\n".join(sorted(set(locked()))))  # noqa: T201  # what the command is for
