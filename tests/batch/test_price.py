"""Bid lists from the command line: what a batch answers, and an exit status for scripts."""

import json
import subprocess
import sys
from pathlib import Path

from tests.load.running import ROOT

TABLE = "id,bays,bay_spacing_ft,panel_thickness,height_in\nA,12,4,8 mm,24\nB,14,4,8 mm,{height}\n"


def price(file: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the command."""
    line = [sys.executable, "-m", "service", "price", str(file), *words]
    environment = {"PATH": "/usr/bin:/bin", "PYTHONPATH": str(ROOT), "SHIN_WALL_PLANNERS": "1"}
    return subprocess.run(line, env=environment, capture_output=True, text=True, check=False)


def test_a_list_is_priced_and_ordered_from_the_command_line(tmp_path: Path) -> None:
    """Lines, the order and the sums; nothing but them on the standard output, no progress bar without a terminal."""
    file = tmp_path / "bids.csv"
    file.write_text(TABLE.format(height=24), encoding="utf-8")
    done = price(file, "--answer", "jsonl", "--combine")
    *lines, made, last = map(json.loads, done.stdout.splitlines())
    assert (done.returncode, done.stderr) == (0, "")
    assert [line["id"] for line in lines] == ["A", "B"]
    apart = made["combined"]["order"]["saving"]["apart"]
    assert apart == last["summed_up"]["totals"]["USD"]


def test_the_exit_status_tells_whether_lines_or_the_whole_failed(tmp_path: Path) -> None:
    """1 when a line is refused, 2 when the list cannot be read as one."""
    file = tmp_path / "bids.csv"
    file.write_text(TABLE.format(height=8), encoding="utf-8")
    done = price(file)
    assert done.returncode == 1
    assert "height-unbuildable" in done.stdout
    file.write_text("bayz\n1\n", encoding="utf-8")
    done = price(file)
    assert (done.returncode, len(done.stdout.splitlines())) == (2, 1)  # the header of the answer
    assert "bays" in done.stderr
