"""What a job says has a name of its own, whatever the program makes of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from marker.jobfile.reading import read_job
from tests.jobfile.writer import HEAD, SQUARE, piece

TEXT = HEAD + piece(SQUARE, "cut = 2") + piece('drawing = "a.svg#front"', name="back")
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
    '<path id="front" d="M 0 0 L 40 0 L 40 30 Z"/></svg>'
)


def said(folder: Path, text: str, drawing: str = DRAWING) -> str:
    (folder / "a.svg").write_text(drawing)
    (folder / "job.toml").write_text(text)
    return read_job(folder / "job.toml").said


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("cut = 2", "cut = 2  # two of them"),
        ("cut = 2", "cut = 0x2"),
        ("[100, 0]", "[100.0, 0]"),
        ("= 1 }", "= 3 }"),
        ('size = "38"', 'size = "38"\nshow = "imperial"\nnotes = ["Wash it first."]'),
        ('"150 cm"', '"150 cm", colour = "red"'),
    ],
)
def test_what_changes_no_layout_does_not_count(old: str, new: str, tmp_path: Path) -> None:
    assert old in TEXT
    assert said(tmp_path, TEXT.replace(old, new)) == said(tmp_path, TEXT)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("cut = 2", "cut = 3"),
        ("[100, 0]", "[100.5, 0]"),
        ('"150 cm"', '"151 cm"'),
        ('"150 cm"', '"150 cm", gap = "1 cm"'),
    ],
)
def test_what_changes_a_layout_counts(old: str, new: str, tmp_path: Path) -> None:
    assert said(tmp_path, TEXT.replace(old, new)) != said(tmp_path, TEXT)


def test_drawings_count(tmp_path: Path) -> None:
    assert said(tmp_path, TEXT, DRAWING.replace("40 30", "40 31")) != said(tmp_path, TEXT)


def test_it_rests_on_no_type_of_the_program(tmp_path: Path) -> None:
    """A stored name stays true, whatever fields our types gain."""
    assert said(tmp_path, TEXT) == "e8f04cedf45eb12cbc06afa64b7e969d"


def test_a_job_that_is_not_as_its_file_says_has_none(tmp_path: Path) -> None:
    said(tmp_path, TEXT)
    job = read_job(tmp_path / "job.toml")
    assert job.said
    assert job.with_order({"38": 4}).said == job.said
    assert not job.with_pieces(lambda piece: replace(piece, cut=1)).said
