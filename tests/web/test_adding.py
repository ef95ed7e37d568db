"""Pieces of drawings added to a job that is open: shown first, then as the person told them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from marker.errors import CannotBeDone, FaultyInput, MarkerError
from marker.jobfile.reading import read_job
from tests.cli.commands import job_file
from tests.exchange.dxf_drawings import sizes
from tests.jobfile.writer import HEAD, SQUARE, piece
from tests.web.browsing import photo
from tests.web.table import Table

SIZED = HEAD.replace('size = "38"', 'size = "38"\nsizes = ["36", "38"]') + piece(SQUARE)
THREE = """<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
 viewBox="0 0 300 200"><rect id="front" x="10" y="10" width="80" height="120"/>
<rect id="bib" x="110" y="10" width="60" height="90"/>
<path id="tie" d="M 200 10 h 40 v 150 h -40 z"/></svg>"""


def dropped(folder: Path, text: str | bytes = THREE, name: str = "bib.svg") -> list[str]:
    """The paths of a file that was dropped, in a folder as the page's process makes one."""
    (folder / "dropped").mkdir(exist_ok=True)
    path = folder / "dropped" / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return [str(path)]


def told(number: int, name: str, **more: Any) -> dict[str, Any]:
    return {"number": number, "name": name, "cloth": "jersey", "cut": "1", "fold": "", **more}


def drawings(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("*.svg"))


def test_pieces_are_shown_then_added_and_undone(table: Table, tmp_path: Path) -> None:
    before = table.job.read_text(encoding="utf-8")
    paths = dropped(tmp_path)
    shown = table.ask("drawings", paths=paths)
    assert [each["name"] for each in shown["pieces"]] == ["front 2", "bib", "tie"]  # one is taken
    assert shown["pieces"][0]["was"] == "front"
    assert any(line.startswith("  bib:") for line in shown["lines"])
    assert not any(str(tmp_path) in line for line in shown["lines"])
    assert (table.job.read_text(encoding="utf-8"), drawings(tmp_path)) == (before, [])
    left = shown["pieces"][1]["edges"][0]["name"]
    chosen = [told(1, "bib ✂", cut="2", fold=left), told(2, "tie", cut="4", pair=True)]
    table.ask("drawings", paths=paths, chosen=chosen)
    *_, bib, tie = read_job(table.job).pattern.pieces
    assert [bib.name, bib.cut, bib.fold is None, left in bib.edges] == ["bib ✂", 2, False, False]
    assert [tie.name, tie.cut, tie.pair, tie.fold] == ["tie", 4, True, None]
    assert drawings(tmp_path) == ["bib.svg"]
    table.ask("drawings", paths=paths, chosen=[told(0, "yoke")])
    assert drawings(tmp_path) == ["bib-2.svg", "bib.svg"]  # the first one stays as it is
    for _ in range(2):
        table.ask("pattern undo")
    assert table.job.read_text(encoding="utf-8") == before
    for _ in range(2):
        table.ask("pattern redo")
    assert read_job(table.job).pattern.pieces[-1].name == "yoke"


@pytest.mark.parametrize(
    ("chosen", "said"),
    [
        ([told(0, "front")], "2 pieces or strips are called 'front'"),
        ([told(0, "a.b")], "holds '.'"),
        ([told(0, "bib", cut="many")], "a whole number is expected"),
        ([told(0, "bib", cut="0")], "the number is too small"),
        ([told(0, "bib"), told(1, "bib")], "2 pieces or strips are called 'bib'"),
        ([], "no piece is chosen"),
    ],
)
def test_what_is_refused_leaves_nothing_behind(
    table: Table, tmp_path: Path, chosen: list[dict[str, Any]], said: str
) -> None:
    before = table.job.read_text(encoding="utf-8")
    with pytest.raises(MarkerError) as refused:
        table.ask("drawings", paths=dropped(tmp_path), chosen=chosen)
    assert said in str(refused.value)
    assert (table.job.read_text(encoding="utf-8"), drawings(tmp_path)) == (before, [])


def test_no_drawing_and_no_pattern_are_told(table: Table, tmp_path: Path) -> None:
    for paths, said in (
        ([], "there are none"),
        (dropped(tmp_path, "<svg/>"), "bib.svg"),
        (dropped(tmp_path, b"", "empty.dxf"), "empty.dxf"),
    ):
        with pytest.raises(FaultyInput, match=said) as refused:
            table.ask("drawings", paths=paths)
        assert str(tmp_path) not in str(refused.value)


def test_a_photo_is_shown_with_what_was_found(table: Table, tmp_path: Path) -> None:
    paths = dropped(tmp_path, photo(), "table.jpg")
    shown = table.ask("drawings", paths=paths, reference="a4", grain="right")
    (found,) = shown["pieces"]
    assert found["grain_deg"] == 0
    assert len(shown["photos"]) == 1
    table.ask("drawings", paths=paths, reference="a4", grain="up", chosen=[told(0, "bib")])
    assert read_job(table.job).pattern.pieces[-1].grain_deg == 90


def test_a_drawing_comes_in_one_size_or_in_those_of_the_job(table: Table, tmp_path: Path) -> None:
    job_file(tmp_path, SIZED)
    table.ask("drawings", paths=dropped(tmp_path), chosen=[told(1, "bib")])
    for size in ("36", "38"):  # it is the same in both
        assert read_job(table.job).in_size(size).pieces[-1].name == "bib"
    paths = dropped(tmp_path, sizes(), "yoke.dxf")
    with pytest.raises(CannotBeDone, match="comes in sizes 36, 38, 40, and this job in 36, 38"):
        table.ask("drawings", paths=paths)
    job_file(tmp_path, SIZED.replace('"36", "38"', '"36", "38", "40"'))
    table.ask("drawings", paths=paths, chosen=[told(0, "yoke")])
    job = read_job(table.job)
    wide = [np.ptp(job.in_size(size).pieces[-1].outline[:, 0]) for size in job.sizes]
    assert wide == sorted(set(wide))  # each larger than the one before
    assert len([name for name in drawings(tmp_path) if name.startswith("yoke-")]) == 3
