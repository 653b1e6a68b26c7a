"""Reading and measuring published instances: every kind of file, and one that cannot be read."""

import json
from pathlib import Path

from service.bench_instances import read_instances, report

FILES = {
    "sticks_1.json": {"capacity": 10, "items": [[7, 2], [5, 2], [3, 4]], "optimum": 4},
    "sticks_open.json": {"capacity": 10, "items": [[10, 3]], "optimum": None},
    "lengths_1.json": {
        "stocks": [{"length": 6, "cost": 7, "available": None}, {"length": 9, "cost": 10, "available": 2}],
        "kerf": 1,
        "items": [[4, 3]],
        "optimum": 17,
    },
    "sheets_1.json": {
        "bin": [10, 4],
        "items": [[10, 2, 2]],
        "trim_allowed": True,
        "optimum_horizontal_first": 1,
        "optimum_vertical_first": 1,
    },
}


def write(folder: Path) -> None:
    for name, data in FILES.items():
        (folder / name).write_text(json.dumps(data), encoding="utf-8")
    (folder / "index.json").write_text("[]", encoding="utf-8")
    (folder / "broken.json").write_text('{"source": "a "quoted" word"}', encoding="utf-8")


def test_every_kind_of_instance_is_read_and_the_unreadable_named(tmp_path: Path) -> None:
    """One problem for sticks, two for sheets (first cut either way); the index is no instance."""
    write(tmp_path)
    instances, unreadable = read_instances(tmp_path)
    assert unreadable == ["broken.json"]
    assert [(item.name, item.family, item.optimum) for item in instances] == [
        ("lengths_1", "lengths", 17),
        ("sheets_1:horizontal", "sheets", 1),
        ("sheets_1:vertical", "sheets", 1),
        ("sticks_1", "sticks", 4),
        ("sticks_open", "sticks", None),
    ]
    lengths, along, turned, *_ = (item.problem for item in instances)
    assert (lengths.kerf, lengths.stock[1].count, lengths.stock[0].price) == (1, 2, 7)
    assert (along.stock[0].length, along.stock[0].width, along.trim) == (10, 4, True)
    assert (turned.stock[0].length, turned.demand[0].length, turned.demand[0].width) == (4, 2, 10)


def test_the_report_has_a_line_for_each_and_a_summary_by_class(tmp_path: Path) -> None:
    """4 + 4 + kerf is 9: one stock of 9 and one of 6 cost 17; a known optimum that is wrong would be told."""
    write(tmp_path)
    (tmp_path / "sticks_wrong.json").write_text(
        '{"capacity": 10, "items": [[10, 3]], "optimum": 2}', encoding="utf-8"
    )
    lines = list(report(tmp_path))
    assert lines[0].startswith("broken.json: not valid JSON")
    assert lines[1].startswith("lengths_1: 17 proven, ")
    assert any(line.startswith("sticks_wrong: 3 proven, known optimum 2 contradicted") for line in lines)
    summary = {line.split()[0]: line.split()[1:4] for line in lines[-4:]}
    assert summary == {
        "class": ["count", "proven", "agree"],
        "lengths": ["1", "1", "1"],
        "sheets": ["2", "2", "2"],
        "sticks": ["3", "3", "2"],
    }
