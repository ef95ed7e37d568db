"""Remnants by the commands: a layout, a diagram and a check for each."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import job_file, marker
from tests.jobfile.test_remnant_tables import with_remnant
from tests.jobfile.writer import HEAD, SQUARE, piece

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
    done = marker("lay", job, "--iterations", 4, "--out", tmp_path / "out", "--quiet")
    assert done.exit_code == 1
    assert "wide fits none of them, which is proven" in done.stderr
    assert "remnants" in marker("shortage", job, "--have", "1 m").stderr


@pytest.mark.usefixtures("no_diagrams")
def test_a_remnant_names_only_the_garments_that_have_pieces_on_it(tmp_path: Path) -> None:
    small = "".join(
        f'[[cloth.jersey.remnant]]\nname = "{name}"\n'
        "points = [[0, 0], [110, 0], [110, 110], [0, 110]]\n"
        for name in ("one", "two")
    )
    text = with_remnant(small).replace('"38" = 1', '"38" = 2')
    done = marker("lay", job_file(tmp_path, text), "--iterations", 2, "--out", tmp_path / "out")
    assert done.exit_code == 0, done.output
    bundles = [line.strip() for line in done.stdout.splitlines() if "bundle" in line]
    assert sorted(bundles) == [f"bundle garment {n}, size 38: 1 front" for n in (1, 2)]


@pytest.mark.usefixtures("no_diagrams")
def test_garments_alike_are_one_line(tmp_path: Path) -> None:
    text = (HEAD + piece(SQUARE)).replace('"38" = 1', '"38" = 12')
    done = marker("lay", job_file(tmp_path, text), "--iterations", 2, "--out", tmp_path / "out")
    bundles = [line.strip() for line in done.stdout.splitlines() if "bundle" in line]
    assert bundles == ["bundle garments 1 to 12, size 38, each: 1 front"]


ROOMY = """[[cloth.jersey.remnant]]
name = "from the skirt"
points = [[0, 0], [600, 0], [600, 300], [0, 300]]
[[cloth.jersey.remnant]]
name = "end of roll"
points = [[0, 0], [500, 0], [500, 300], [0, 300]]
"""


def on_remnants(folder: Path) -> dict[str, tuple[Path, list[str]]]:
    """Remnant -> its layout file, and the pieces on it."""
    found = {}
    for path in sorted(folder.glob("*layout.json")):
        stored = json.loads(path.read_text())
        names = [each["piece"] for each in stored["placements"]]
        found[stored["cloth"]["remnant"]["name"]] = (path, names)
    return found


@pytest.mark.usefixtures("no_diagrams")
def test_a_piece_is_moved_to_another_remnant_and_the_rest_laid_around_it(tmp_path: Path) -> None:
    job, out = job_file(tmp_path, with_remnant(ROOMY) + TAB), tmp_path / "out"
    done = marker("lay", job, "--iterations", 3, "--out", out, "--quiet")
    assert done.exit_code == 0, done.output
    laid = on_remnants(out)
    name, (path, names) = next((n, on) for n, on in laid.items() if "tab" in on[1])
    other = ({"from the skirt", "end of roll"} - {name}).pop()
    number = str(marker_number(path, names, "tab"))
    moved = marker("move", path, number, "--to", "30 cm, 20 cm", "--on", other.upper(), "--quiet")
    assert moved.exit_code == 0, moved.output
    now = on_remnants(out)
    pin = marker_number(*now[other], "tab")
    said = f"to lie at 30.0 cm, 20.0 cm on {other}; it lies there as piece {pin}."
    assert said in moved.stdout
    assert {key: set(each) for key, (_, each) in now.items()} == (
        {other: {"tab", "front"}} if names == ["tab"] else {name: {"front"}, other: {"tab"}}
    )
    assert all(marker("judge", each).exit_code == 0 for each, _ in now.values())
    keep = ("--keep", now[other][0], "--pin", pin, "--replace")
    again = marker("lay", job, *keep, "--iterations", 2, "--out", out, "--quiet")
    assert again.exit_code == 0, again.output
    assert "tab" in on_remnants(out)[other][1]


@pytest.mark.usefixtures("no_diagrams")
def test_a_remnant_that_there_is_not_is_told(tmp_path: Path) -> None:
    job, out = job_file(tmp_path, with_remnant(ROOMY) + TAB), tmp_path / "out"
    assert marker("lay", job, "--iterations", 0, "--out", out, "--quiet").exit_code == 0
    path, _ = next(iter(on_remnants(out).values()))
    unknown = marker("move", path, 1, "--to", "1 cm, 1 cm", "--on", "sleeve")
    assert unknown.exit_code == 2
    assert (
        "there is no remnant called 'sleeve'. Known are 'from the skirt', 'end of roll'."
    ) in " ".join(unknown.stderr.split())
    assert marker("move", path, 1, "--turn", "--on", "end of roll").exit_code == 2


def marker_number(path: Path, names: list[str], piece: str) -> int:
    """The number of a piece in the diagram: the one it had before it was moved, or else pieces are
    numbered from the start of the cloth on."""
    shown = json.loads(path.read_text())["placements"]
    if kept := shown[names.index(piece)].get("number"):
        return int(kept)
    order = sorted(names, key=lambda name: _start(shown[names.index(name)]))
    return 1 + order.index(piece)


def _start(placement: dict[str, list[list[float]]]) -> tuple[float, float]:
    outline = placement["outline_mm"]
    return min(x for x, _ in outline), min(y for _, y in outline)
