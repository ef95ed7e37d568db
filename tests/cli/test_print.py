"""`marker print`: judged again, said what is printed, refused with the remedy."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import TWO_PIECES, job_file, laid, marker
from tests.drawing.pdf_pages import pages_of

pytestmark = pytest.mark.usefixtures("no_diagrams")


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return job_file(tmp_path_factory.mktemp("tabard"), TWO_PIECES)


@pytest.fixture
def layout(job: Path) -> Path:
    path = job.parent / "out" / "layout.json"
    if not path.exists():
        laid(job, "--iterations", 1)
    return path


def test_the_pdf_holds_the_pages_that_are_said(layout: Path, tmp_path: Path) -> None:
    done = marker("print", layout, "--paper", "A0", "--out", tmp_path / "full.pdf", "--json")
    assert done.exit_code == 0, done.output
    said = json.loads(done.stdout)
    (whole,) = said["sets"]
    assert said["file"] == str(tmp_path / "full.pdf")
    assert len(pages_of((tmp_path / "full.pdf").read_bytes())) == whole["pages"]
    assert len(whole["printed"]) + len(whole["left_out"]) == whole["rows"] * whole["columns"]


def test_single_pieces_are_named_and_written_beside_the_layout(layout: Path) -> None:
    done = marker("print", layout, "--paper", "a4", "--piece", "gusset")
    assert done.exit_code == 0, done.output
    path = layout.parent / "print-a4-gusset.pdf"
    assert str(path) in done.stdout
    assert "100 %" in done.stdout
    text = pages_of(path.read_bytes())[1].extract_text()
    assert "cut 2 pairs" in text


def test_pages_of_another_cloth_do_not_take_the_place_of_the_main_one(layout: Path) -> None:
    other = layout.with_name("rib-layout.json")
    other.write_bytes(layout.read_bytes())
    done = marker("print", other, "--paper", "a4", "--piece", "gusset", "--json")
    assert json.loads(done.stdout)["file"] == str(layout.parent / "rib-print-a4-gusset.pdf")


def test_pieces_are_printed_by_themselves_as_halves_or_in_sizes(layout: Path) -> None:
    done = marker("print", layout, "--paper", "a3", "--half", "--sizes", "38", "--json")
    assert done.exit_code == 0, done.output
    said = json.loads(done.stdout)
    assert said["file"] == str(layout.parent / "print-a3-half-38.pdf")
    assert [each["title"] for each in said["sets"]] == ["every piece, halves on the fold"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--paper", "a5"), "there is no paper called 'a5'. Did you mean 'a4'? Known are 'a4'"),
        (("--paper", "roll:9cm"), "30 cm to 5 m"),
        (("--paper", "a4", "--piece", "collar"), "Known are 'front', 'gusset'.\n"),
        (("--paper", "a4", "--sizes", "38,x"), "no size called 'x'. The only one is '38'.\n"),
        (("--paper", "a4", "--sizes", " ,"), "names no size"),
        (("--paper", "a4", "--sizes", ",".join("abcdefghi")), "at most 8"),
        ((), "--paper"),
    ],
)
def test_wrong_words_are_refused(layout: Path, words: tuple[str, ...], said: str) -> None:
    done = marker("print", layout, *words)
    assert done.exit_code == 2
    assert said in done.stderr


def test_a_layout_that_was_changed_by_hand_is_not_printed(layout: Path) -> None:
    stored = json.loads(layout.read_text())
    stored["placements"][0]["x_mm"] += 5.0
    changed = layout.with_name("changed.json")
    changed.write_text(json.dumps(stored))
    done = marker("print", changed, "--paper", "a4")
    assert done.exit_code == 1
    assert not changed.with_name("print-a4.pdf").exists()
