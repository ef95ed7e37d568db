"""From a new job to a judged layout, by the commands alone."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from marker.files.own_files import LIST, OwnFiles
from marker.planning import one_cloth
from marker.tolerances import JUDGED_MM
from tests.cli.commands import TWO_PIECES, interrupted, job_file, laid, marker
from tests.jobfile.writer import HEAD, SQUARE, piece

KEYS = {
    "format", "name", "job", "cloth", "length_mm", "utilisation", "length_lower_bound_mm",
    "stopped_because", "seed", "seconds", "placements", "spares", "folding", "buy", "files",
    "other_cloths", "unmatched_mm", "matching_mm", "have", "leftovers", "together",
}  # fmt: skip
PLACEMENT_KEYS = {
    "piece", "size", "garment", "copy", "rotation_deg", "mirrored", "x_mm", "y_mm", "outline_mm",
}  # fmt: skip


def test_a_new_job_is_checked_laid_and_judged(tmp_path: Path) -> None:
    job = tmp_path / "tabard" / "job.toml"
    made = marker("new", job.parent)
    assert (made.exit_code, job.exists()) == (0, True)
    assert str(job) in made.stdout
    again = marker("new", job.parent)
    assert again.exit_code == 2
    assert "there is a job already" in again.stderr

    checked = marker("check", job)
    assert checked.exit_code == 0
    assert "front" in checked.stdout

    layout = laid(job, "--seconds", 1)
    assert set(layout) | {"job"} == KEYS
    assert layout["format"] == 1
    cloth = {
        "name",
        "usable_width_mm",
        "nap",
        "spread",
        "shrinkage",
        "repeat",
        "border",
        "flaws",
        "remnant",
    }
    assert set(layout["cloth"]) == cloth
    assert set(layout["placements"][0]) == PLACEMENT_KEYS
    assert len(layout["placements"]) == 6
    last = max(x for each in layout["placements"] for x, _ in each["outline_mm"])
    assert layout["length_lower_bound_mm"] <= last + JUDGED_MM
    assert layout["buy"]["buy_mm"] >= layout["length_mm"] + 40
    files = [Path(path) for path in layout["files"]]
    assert {path.name for path in files} >= {
        "layout.json", "diagram.pdf", "diagram.svg", "cutting-sheet.pdf", "cutting-sheet.html",
    }  # fmt: skip
    assert all(path.stat().st_size > 500 for path in files)
    kept = {"layouts", LIST}
    assert {path.name for path in files} | kept == {
        path.name for path in (tmp_path / "tabard" / "out").iterdir()
    }

    judged = marker("judge", job.parent / "out" / "layout.json")
    assert judged.exit_code == 0
    assert "sound" in judged.stdout


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize("workers", [1, 2])
def test_the_same_seed_gives_the_same_bytes(workers: int, tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    words = ("--seed", 7, "--iterations", 3, "--workers", workers)
    first, second = (json.dumps(laid(job, *words)["placements"]) for _ in range(2))
    assert first == second


@pytest.mark.usefixtures("no_diagrams")
def test_lines_for_a_person(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    done = marker("lay", job, "--iterations", 1, "--out", tmp_path / "out")
    assert done.exit_code == 0
    for words in ("7 pieces", "of the cloth used", "no layout is shorter", "by the yard", "wrote"):
        assert words in done.stdout
    assert "jersey" in done.stderr
    quiet = marker("lay", job, "--iterations", 1, "--out", tmp_path / "out", "--quiet")
    assert quiet.stderr == ""


@pytest.mark.usefixtures("no_diagrams")
def test_every_cloth_is_laid(tmp_path: Path) -> None:
    head = HEAD.replace("cloth.jersey", 'cloth."fine lining" = { width = "90 cm" }\ncloth.jersey')
    text = head + piece(SQUARE, 'cloth = "jersey"') + piece(SQUARE, "cut = 2", name="bag")
    layout = laid(job_file(tmp_path, text), "--iterations", 1)
    assert layout["cloth"]["name"] == "fine lining"
    assert [other["cloth"]["name"] for other in layout["other_cloths"]] == ["jersey"]
    assert [len(layout["placements"]), len(layout["other_cloths"][0]["placements"])] == [2, 1]
    for stored in (tmp_path / "out" / "layout.json", tmp_path / "out" / "jersey-layout.json"):
        assert marker("judge", stored).exit_code == 0


@pytest.mark.usefixtures("no_diagrams")
def test_cloths_whose_names_are_alike_keep_their_own_files(tmp_path: Path) -> None:
    head = HEAD + '[cloth."fine lining"]\nwidth = "90 cm"\n[cloth.Fine-Lining]\nwidth = "80 cm"\n'
    pieces = [
        piece(SQUARE, f'cloth = "{name}"', name=name)
        for name in ("jersey", "fine lining", "Fine-Lining")
    ]
    layout = laid(job_file(tmp_path, head + "".join(pieces)), "--iterations", 0)
    files = [path for each in (layout, *layout["other_cloths"]) for path in each["files"]]
    assert len(set(files)) == len(files)
    assert all(Path(path).exists() for path in files)


def test_pages_of_an_earlier_diagram_go_and_nothing_else(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    others = {"diagram-notes.txt", "lining-diagram-2.png", "my diagram-2.svg", "diagram-3.svg"}
    for name in others:
        (out / name).touch()
    OwnFiles(out).replace({"diagram-1.png": b"", "diagram-12.svg": b""}, "lay")
    laid(job_file(tmp_path, TWO_PIECES), "--iterations", 0)
    found = {path.name for path in out.iterdir()}
    diagram = {"diagram.pdf", "diagram.svg", "diagram.png"}
    own = {"layout.json", "cutting-sheet.pdf", "cutting-sheet.html", "layouts", LIST}
    assert found == own | diagram | others


def _turned(placement: dict[str, Any]) -> None:
    placement["rotation_deg"] = 90.0


def _moved(placement: dict[str, Any]) -> None:
    placement["x_mm"] -= 30.0
    placement["outline_mm"] = [[x - 30.0, y] for x, y in placement["outline_mm"]]


def _edited(placement: dict[str, Any]) -> None:
    placement["outline_mm"][1][0] += 1.0


def _mirrored(placement: dict[str, Any]) -> None:
    placement["mirrored"] = not placement["mirrored"]


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (_moved, "lap|over each other|outside|cloth"),
        (_turned, "allowed"),
        (_edited, "outline"),
        (_mirrored, "mirror"),
        (None, "missing"),
    ],
)
def test_a_layout_tampered_with_is_found_out(
    spoil: Callable[[dict[str, Any]], None] | None,
    words: str,
    tmp_path: Path,
) -> None:
    laid(job_file(tmp_path, TWO_PIECES), "--iterations", 0)
    path = tmp_path / "out" / "layout.json"
    stored = json.loads(path.read_text())
    first = min(stored["placements"], key=lambda placement: float(placement["x_mm"]))
    if spoil is None:
        stored["placements"].remove(first)
    else:
        spoil(first)
    path.write_text(json.dumps(stored))
    told = marker("judge", path)
    assert told.exit_code == 1
    assert any(word in told.stdout.lower() for word in words.split("|")), told.stdout
    found = json.loads(marker("judge", path, "--json").stdout)
    assert found["clean"] is False
    assert found["findings"]


@pytest.mark.usefixtures("no_diagrams")
def test_a_job_changed_since_is_said_in_one_sentence(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    laid(job, "--iterations", 0)
    path = tmp_path / "out" / "layout.json"
    text = job.read_text()

    job.write_text("# a word of my own\n" + text)
    assert "has changed" not in marker("judge", path).output
    job.write_text(text.replace('"choir dress"', '"smock"'))
    told = marker("judge", path)
    assert told.exit_code == 0
    assert "has changed since" in told.stdout
    assert "sound" in told.stdout
    assert "still sound" in marker("export", path, "--to", "svg").stderr

    job.write_text(text.replace("cut = 3", "cut = 4"))
    for words in (
        ("judge", path),
        ("print", path, "--paper", "a4"),
        ("export", path, "--to", "svg", "--out", tmp_path / "new"),
    ):
        told = marker(*words)
        assert told.exit_code == 1, told.output
        assert "has changed since" in told.output
        assert f"`marker lay {job}`" in told.output
        assert "missing" not in told.output
    assert not (tmp_path / "new").exists()
    found = json.loads(marker("judge", path, "--json").stdout)
    assert (found["clean"], found["job_changed"]) == (False, True)
    assert found["findings"]


def test_ctrl_c_keeps_the_best_so_far(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES.replace("cut = 3", "cut = 10"))
    words = ("--seconds", 3600, "--out", tmp_path / "out", "--json")
    assert interrupted("lay", job, *words)["stopped_because"] == "stopped by hand"
    assert marker("judge", tmp_path / "out" / "layout.json").exit_code == 0


@pytest.mark.usefixtures("no_diagrams")
def test_all_files_are_written_or_none(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    (tmp_path / "out" / "diagram.svg").mkdir(parents=True)
    told = marker("lay", job, "--iterations", 0, "--out", tmp_path / "out")
    assert told.exit_code == 2
    assert "diagram.svg" in told.stderr
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["diagram.svg"]


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize("ready", [False, True])
def test_the_first_use_says_why_it_waits(
    ready: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(one_cloth, "is_compiled", lambda _: ready)
    job = job_file(tmp_path, TWO_PIECES)
    told = marker("lay", job, "--iterations", 0, "--out", tmp_path / "out").stderr
    assert ("first use" in told) is not ready


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize(
    ("sold_by", "said"),
    [
        ("10 cm", "nobody can cut it from less than 80 cm (by the yard 7/8 yd) at this width"),
        ("2 yd", "this is the least: a longer search saves no cloth"),
    ],
)
def test_what_is_proven_is_told_as_cloth_to_buy_and_to_a_cutting_room_as_a_length(
    sold_by: str, said: str, tmp_path: Path
) -> None:
    """Three squares of 60 cm, two beside one another on 1.5 m of width, take 1.2 m. Their area
    proves 72 cm; the two ends take 4 cm."""
    head = HEAD.replace('"150 cm"', f'"150 cm", sold_by = "{sold_by}"')
    job = job_file(tmp_path, head + piece(SQUARE.replace("100", "600"), "cut = 3"))
    sewing = marker("lay", job, "--iterations", 0, "--out", tmp_path / "out").stdout
    (least,) = (line for line in sewing.splitlines() if line.startswith("  least "))
    assert least == f"  least  {said}"
    assert "bound" not in sewing
    room = marker(
        "lay", job, "--iterations", 0, "--out", tmp_path / "out", "--for", "cutting room"
    ).stdout
    assert "no layout at this width can be shorter than 72 cm" in room
    assert "least" not in room


def test_a_length_that_is_proven_is_said_once_in_the_units_of_the_job(tmp_path: Path) -> None:
    """Two squares side by side take the length of one."""
    text = 'show = "imperial"\n' + HEAD + piece(SQUARE.replace("100", "300"), "cut = 2")
    words = ("lay", job_file(tmp_path, text), "--seconds", 5, "--out", tmp_path / "out")
    room = marker(*words, "--for", "cutting room").stdout
    assert "marker efficiency" in room
    assert "proven shortest" in room
    assert "can be shorter" not in room
    assert "least" not in room
    result = marker(*words)
    assert result.exit_code == 0, result.output
    assert "  least  this is the least: no layout is shorter\n" in result.stdout
    assert not any(word in result.stdout for word in ("proven shortest", "  bound", "efficiency"))
    (left,) = (line for line in result.stdout.splitlines() if line.startswith("  left "))
    assert re.search(r": [\d /]+ in × [\d /]+ in$", left), left
