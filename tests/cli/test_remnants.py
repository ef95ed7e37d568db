"""Remnants by the commands: a layout, a diagram and a check for each."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import job_file, marker
from tests.jobfile.test_remnant_tables import with_remnant
from tests.jobfile.writer import piece

TWO = """[[cloth.jersey.remnant]]
name = "ell"
points = [[0, 0], [300, 0], [300, 150], [150, 150], [150, 300], [0, 300]]
[[cloth.jersey.remnant]]
name = "end"
points = [[0, 0], [200, 0], [200, 100], [0, 100]]
"""
ARM = piece("points = [[0, 0], [290, 0], [290, 140], [0, 140]]", "grain = 0", name="arm")
TAB = piece("points = [[0, 0], [190, 0], [190, 90], [0, 90]]", "grain = 0", name="tab")


@pytest.mark.usefixtures("no_diagrams")
def test_each_remnant_gets_its_own_files_and_they_are_judged_together(tmp_path: Path) -> None:
    job = job_file(tmp_path, with_remnant(TWO) + ARM + TAB)
    done = marker("lay", job, "--iterations", 3, "--out", tmp_path / "out", "--json", "--quiet")
    assert done.exit_code == 0, done.output
    first = json.loads(done.stdout)
    layouts = [first, *first["other_cloths"]]
    assert [each["cloth"]["remnant"]["name"] for each in layouts] == ["ell", "end"]
    laid = {p["piece"]: each["cloth"]["remnant"]["name"] for each in layouts
            for p in each["placements"]}  # fmt: skip
    assert laid == {"arm": "ell", "tab": "end", "front": "ell"}
    assert all(each["have"]["answer"] == "fits" for each in layouts)
    stored = [Path(each["files"][0]) for each in layouts]
    assert len(set(stored)) == 2
    for path in stored:
        assert marker("judge", path).exit_code == 0
        assert path.with_name(path.name.replace("layout.json", "diagram.svg")).exists()
    moved = json.loads(stored[1].read_text())
    moved["placements"][0]["piece"] = "arm"
    stored[1].write_text(json.dumps(moved))
    assert marker("judge", stored[0]).exit_code == 1


@pytest.mark.usefixtures("no_diagrams")
def test_remnants_that_do_not_suffice_say_so(tmp_path: Path) -> None:
    wide = piece("points = [[0, 0], [240, 0], [240, 240], [0, 240]]", "grain = 0", name="wide")
    job = job_file(tmp_path, with_remnant(TWO) + wide)
    done = marker("lay", job, "--iterations", 2, "--out", tmp_path / "out", "--quiet")
    assert done.exit_code == 1
    assert "wide fits none of them, which is proven" in done.stderr
    assert "remnants" in marker("shortage", job, "--have", "1 m").stderr
