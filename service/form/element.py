"""The custom element's script: one module with its style and sketch inside, named by the digest of its bytes.

Rules of this file
------------------
- What is served is what lies in the folder `script`: a script, a style sheet and a sketch, put together without a build.
- A script that was released stays in the folder `released` under its digest for two releases, so that pages that name it
  keep working.
"""

import base64
import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Final

from service.paper.inks import DARK
from service.planner.records import record

_HERE: Final = Path(__file__).parent
_SOURCES: Final = _HERE / "script"
_RELEASED: Final = _HERE / "released"


@record
class Script:
    """A script as it is served."""

    content: bytes
    """A module of ECMAScript"""

    @property
    def digest(self) -> str:
        """Names the script in its address: 16 hexadecimal digits."""
        return hashlib.sha384(self.content).hexdigest()[:16]

    @property
    def integrity(self) -> str:
        """What a page names it by (Subresource Integrity, W3C 2016)."""
        return f"sha384-{base64.b64encode(hashlib.sha384(self.content).digest()).decode()}"


@cache
def newest() -> Script:
    """Put the script together."""
    read = {
        name: (_SOURCES / name).read_text(encoding="utf-8")
        for name in ("element.js", "element.css", "sketch.svg")
    }
    dark = " ".join(f"--wall-{ink}: {colour};" for ink, colour in DARK.items())
    style = read["element.css"].replace("@DARK@", dark)
    script = read["element.js"].replace('"@STYLE@"', json.dumps(style))
    return Script(content=script.replace('"@SKETCH@"', json.dumps(read["sketch.svg"])).encode())


@cache
def scripts() -> dict[str, Script]:
    """Every script that is served, by digest: the newest, and those that were released before it."""
    released = (Script(content=path.read_bytes()) for path in _RELEASED.glob("*.js"))
    return {script.digest: script for script in (newest(), *released)}
