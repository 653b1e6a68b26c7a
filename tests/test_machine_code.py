"""Where compiled code is kept: never stale, shared by workers, found again where nothing can be written."""

import ast
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from service import machine_code

SERVICE = Path(machine_code.__file__).parent
TELL = "from service import machine_code as m; print(m.digest(), m.folder())"
MARK = """
import time
from pathlib import Path
from service import machine_code as m
with m.compiled_once():
    Path("compiling").touch(exist_ok=False)  # raises where another process is inside
    time.sleep(0.3)
    Path("compiling").unlink()
"""


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """Copy the planner's sources, so that a test may edit them."""
    shutil.copytree(SERVICE, tmp_path / "service", ignore=shutil.ignore_patterns("__*code__", "__pycache__"))
    return tmp_path


def edit(file: Path) -> None:
    """Change a source a little."""
    file.write_text(file.read_text() + "# edited\n")


def run(tree: Path, code: str, **environment: str) -> subprocess.Popen[str]:
    """Start a process on a copy of the sources."""
    return subprocess.Popen(
        [sys.executable, "-c", code],
        cwd=tree,
        env=os.environ | environment,
        text=True,
        stdout=subprocess.PIPE,
    )


def told(tree: Path, code: str = TELL, **environment: str) -> list[str]:
    """Run a process and read the words that it prints."""
    process = run(tree, code, **environment)
    words = process.communicate(timeout=60)[0].split()
    assert process.returncode == 0
    return words


def test_an_edit_of_what_compiled_code_imports_takes_another_folder(tree: Path) -> None:
    """A caller's code is made anew when only what it calls has changed."""
    before = told(tree)
    for name in ("planner/solver/compiling.py", "planner/units.py"):
        edit(tree / "service" / name)
        after = told(tree)
        assert after[0] != before[0]
        assert after[1] != before[1]
        before = after
    edit(tree / "service/planner/plan.py")
    assert told(tree) == before


def test_workers_that_start_together_compile_once(tree: Path, tmp_path: Path) -> None:
    """No two are inside at the same time, and the folder is marked complete."""
    base = str(tmp_path / "kept")
    pair = [run(tree, MARK, NUMBA_CACHE_DIR=base) for _ in range(2)]
    for process in pair:
        process.communicate(timeout=60)
    assert [process.returncode for process in pair] == [0, 0]
    [folder] = (Path(base) / machine_code.FOLDER).iterdir()
    assert [file.name for file in folder.glob("complete-*")] != []


def test_a_complete_folder_serves_before_one_that_can_be_written(tree: Path, tmp_path: Path) -> None:
    """What an image was built with is used although the cache's own folder is there."""
    digest, inside = told(tree)
    assert Path(inside).is_relative_to(tree / "service")
    told(tree, MARK)
    assert told(tree, NUMBA_CACHE_DIR=str(tmp_path / "later")) == [digest, inside]


def test_old_folders_are_dropped_but_for_the_newest(tree: Path) -> None:
    """Nobody clears compiled code by hand."""
    place = tree / "service" / machine_code.FOLDER
    for age in range(5):
        (place / f"old-{age}").mkdir(parents=True)
        os.utime(place / f"old-{age}", (1_000 - age, 1_000 - age))
    digest = told(tree, MARK + "\nprint(m.digest())")[-1]
    assert {path.name for path in place.iterdir()} == {digest, "old-0", "old-1"}


def imported(tree: ast.Module) -> dict[str, str]:
    """Name the module that each imported name of a file comes from."""
    found = (node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module)
    return {alias.asname or alias.name: str(node.module) for node in found for alias in node.names}


def test_compiled_functions_name_nothing_outside_the_sources_that_are_digested() -> None:
    """A constant of any other module would be frozen into machine code that does not notice its change."""
    sources = machine_code.sources()
    covered = {".".join(file.relative_to(SERVICE.parent).with_suffix("").parts) for file in sources}
    functions = 0
    for file in sources:
        tree = ast.parse(file.read_text(encoding="utf-8"))
        origin = imported(tree)
        for function in ast.walk(tree):
            if isinstance(function, ast.FunctionDef) and any(
                "compiled" in ast.unparse(mark) for mark in function.decorator_list
            ):
                functions += 1
                used = {
                    origin[node.id]
                    for part in function.body
                    for node in ast.walk(part)
                    if isinstance(node, ast.Name) and node.id in origin
                }
                assert {module for module in used if module.startswith("service")} <= covered, (
                    file,
                    function.name,
                )
    assert functions > 20
