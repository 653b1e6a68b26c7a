"""Every pattern of the contract is a regular expression of ECMA-262 too, under the flags `u` and `v`, and means the same there.

Reference: JSON Schema 2020-12 validation 6.3.3 and core 6.4 (patterns are ECMA-262, used with unicode); ECMA-262 (2024)
22.2.1. Run by node, where it is installed.
"""

import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest

CONTRACT: Final = Path("openapi/openapi.json")
SAMPLES: Final = (
    "", "0", "24 in", " 24  in", "24 IN ", "2 ft 6", "2'-0\"", "12' 6 1/2\"", "12′ 6½″", "23-15/16\"", "1,2 m", "1,200 mm",
    "1.83 m", "-3 in", "five ft", "1e3 mm", "٣ in", "115 mph", "60 degF", "-4,5 °C", "40m/s", "PC08-48x144", "-x", "a_b.c",
    "demo", "Demo", "48.00", "48.000", "2026-02-28", "2026-13-01", "r-00000000000000000000000000000000", "r-0", "tab\there",
    "line\u2028line", "é", "a/b", "left-1", "[]", "()", "https://example.org", "*",
)  # fmt: skip
SCRIPT: Final = """
const [patterns, samples] = JSON.parse(require("fs").readFileSync(0, "utf8"));
console.log(JSON.stringify(patterns.map(p => ["u", "v"].map(f => samples.map(s => new RegExp(p, f).test(s))))));
"""


def patterns_of(node: Any) -> Iterator[str]:
    """Walk a document for the patterns of its schemas."""
    if isinstance(node, dict):
        if isinstance(node.get("pattern"), str):
            yield node["pattern"]
        for inner in node.values():
            yield from patterns_of(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from patterns_of(inner)


@pytest.mark.skipif(shutil.which("node") is None, reason="node runs the patterns")
def test_every_pattern_compiles_in_javascript_and_means_the_same() -> None:
    """The same samples are taken and refused as here; a browser's form checks with `v`."""
    patterns = sorted(set(patterns_of(json.loads(CONTRACT.read_text(encoding="utf-8")))))
    assert len(patterns) > 5
    node = shutil.which("node") or ""
    ran = subprocess.run(
        [node, "-e", SCRIPT],
        input=json.dumps([patterns, SAMPLES]),
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    for pattern, flags in zip(patterns, json.loads(ran.stdout), strict=True):
        here = [re.search(pattern, sample) is not None for sample in SAMPLES]
        assert flags == [here, here], pattern
