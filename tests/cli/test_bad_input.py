"""Bad input: the right exit code, a message that helps, nothing printed, nothing left behind."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.commands import TWO_PIECES, job_file, laid, marker
from tests.jobfile.writer import HEAD, SQUARE, piece, svg

BOW_TIE = "points = [[0, 0], [100, 100], [100, 0], [0, 100]]"
DRAWN = HEAD + piece('drawing = "drawing.svg#front"')
FRONT = '<path id="front" d="M 0 0 L 40 0 L 40 30 Z"/>'

# what is wrong: the job file's text, words of the message
FAULTY: dict[str, tuple[str, tuple[str, ...]]] = {
    "broken TOML": (HEAD + "[[piece]\n", ("broken TOML at line 7",)),
    "unknown key": (HEAD + piece(SQUARE, "alowance = 3"), ("alowance", "'allowance'")),
    "negative size": (HEAD.replace("150 cm", "-150 cm") + piece(SQUARE), ("width", "below zero")),
    "absurd size": (HEAD.replace("150 cm", "150 m") + piece(SQUARE), ("width", "more than 10 m")),
    "crossing outline": (HEAD + piece(BOW_TIE), ("piece 1 (front)", "cross")),
    "open outline": (
        HEAD + piece('path = "M 0 0 L 100 0 L 100 100"'), ("piece 1 (front), path", "Z")
    ),
    "zero pieces": (HEAD, ("no piece", "[[piece]]")),
    "duplicate names": (HEAD + piece(SQUARE) + piece(SQUARE), ("2 pieces", "'front'")),
    "unknown unit": (HEAD.replace("150 cm", "150 ells") + piece(SQUARE), ("'ells'", "cm")),
    "NaN": (HEAD + piece("points = [[0, 0], [nan, 0], [1, 1]]"), ("points", "finite")),
    "missing drawing": (DRAWN.replace("drawing.svg", "none.svg"), ("none.svg",)),
}  # fmt: skip

UNSAFE = {
    "script": "<script>alert(1)</script>" + FRONT,
    "handler": '<g onload="go()">' + FRONT + "</g>",
    "image elsewhere": '<image href="http://127.0.0.1/a.png" width="1" height="1"/>' + FRONT,
}


def refused(job: Path, code: int, words: tuple[str, ...], *more: object) -> None:
    """Both commands refuse the job, with these words, and leave the folder as it was."""
    before = sorted(path.name for path in job.parent.rglob("*")) if job.parent.exists() else []
    for told in (
        marker("check", job),
        marker("lay", job, "--iterations", 1, "--json", "--out", job.parent / "out", *more),
    ):
        assert told.exit_code == code, told.output
        assert told.stdout == ""
        assert told.stderr.startswith("marker: ")
        for word in words:
            assert word in told.stderr
    after = sorted(path.name for path in job.parent.rglob("*")) if job.parent.exists() else []
    assert after == before


@pytest.mark.parametrize("what", FAULTY)
def test_faulty_jobs(what: str, tmp_path: Path) -> None:
    text, words = FAULTY[what]
    job = job_file(tmp_path, text)
    refused(job, 2, (str(job), *words))


@pytest.mark.parametrize("what", UNSAFE)
def test_drawings_that_are_more_than_drawings(what: str, tmp_path: Path) -> None:
    svg(tmp_path, UNSAFE[what])
    refused(job_file(tmp_path, DRAWN), 2, ("drawing.svg",))


def test_drawings_with_entities_from_elsewhere(tmp_path: Path) -> None:
    text = (
        '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="1cm" height="1cm">&x;{FRONT}</svg>'
    )
    (tmp_path / "drawing.svg").write_text(text)
    refused(job_file(tmp_path, DRAWN), 2, ("drawing.svg",))


def _missing(folder: Path) -> Path:
    return folder / "none.toml"


def _folder(folder: Path) -> Path:
    (folder / "job.toml").mkdir()
    return folder / "job.toml"


def _huge(folder: Path) -> Path:
    path = folder / "job.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    return path


def _not_text(folder: Path) -> Path:
    path = folder / "job.toml"
    path.write_bytes(b"\xff\xfe\x00\x01")
    return path


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (_missing, "no such file"), (_folder, "folder"), (_huge, "MB"), (_not_text, "UTF-8"),
    ],
)  # fmt: skip
def test_files_that_are_no_job(make: Callable[[Path], Path], words: str, tmp_path: Path) -> None:
    job = make(tmp_path)
    told = marker("check", job).stderr
    assert words.lower() in told.lower(), told
    refused(job, 2, (str(job),))
    judged = marker("judge", job)
    assert (judged.exit_code, judged.stdout) == (2, "")


def test_a_piece_too_wide_says_by_how_much_and_what_would_do(tmp_path: Path) -> None:
    wide = "points = [[0, 0], [1600.2, 0], [1600.2, 2000], [0, 2000]]"
    job = job_file(tmp_path, HEAD + piece(wide))
    refused(
        job, 1, ("front needs 160.1 cm", "10.1 cm more", "150 cm", "width of 160.1 cm", "would do")
    )


def test_what_is_too_wide_is_told_a_line_for_each_piece(tmp_path: Path) -> None:
    """In its widest size; the last line says what would do for all."""
    head = HEAD.replace('size = "38"', 'size = "38"\nsizes = ["38", "40"]')
    by_size = "{ by_size = { 38 = 1600, 40 = 1700 } }"
    wide = f"points = [[0, 0], [{by_size}, 0], [{by_size}, 2000], [0, 2000]]"
    job = job_file(tmp_path, head + piece(wide) + piece(wide, name="back"))
    told = marker("check", job)
    assert told.exit_code == 1
    first, second, last, where = told.stderr.strip().splitlines()
    for line, name in ((first, "front"), (second, "back")):
        assert f"{name} of size 40 needs 170 cm (66 15/16 in) across the cloth, however" in line
    assert last == "A usable width of 170 cm (66 15/16 in) would do."
    assert where == f"See {job}:9: piece 1 (front); {job}:13: piece 2 (back)."


def test_a_piece_that_may_lie_across_is_not_too_wide(tmp_path: Path) -> None:
    wide = "points = [[0, 0], [1600.2, 0], [1600.2, 1400], [0, 1400]]"
    job = job_file(tmp_path, HEAD + piece(wide, "turns = [0, 90]"))
    assert marker("check", job).exit_code == 0


def test_a_piece_the_nap_forbids(tmp_path: Path) -> None:
    head = HEAD.replace('150 cm"', '150 cm", nap = "one way"')
    job = job_file(tmp_path, head + piece(SQUARE, "turns = [180]"))
    refused(job, 1, ("front", "nap of jersey", "turn below 180"))


def test_pieces_of_a_garment_that_cannot_point_one_way(tmp_path: Path) -> None:
    head = HEAD.replace('150 cm"', '150 cm", nap = "one way per garment"')
    text = head + piece(SQUARE, "turns = [0]") + piece(SQUARE, "turns = [180]", name="back")
    refused(job_file(tmp_path, text), 1, ("front", "back", "one way", "Add a turn"))


@pytest.mark.parametrize("out", ["job.toml", "job.toml/deeper", "/proc/nothing/here"])
def test_an_output_folder_that_cannot_be_written(out: str, tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    text = job.read_text()
    told = marker("lay", job, "--iterations", 1, "--json", "--out", tmp_path / out)
    assert (told.exit_code, told.stdout) == (2, "")
    assert out in told.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["job.toml"]
    assert job.read_text() == text


@pytest.mark.parametrize(
    "words",
    [
        ("lay",), ("lay", "job.toml", "--seconds", "-1"), ("lay", "job.toml", "--seconds", "nan"),
        ("lay", "job.toml", "--workers", "0"), ("lay", "job.toml", "--iterations", "1.5"),
        ("lay", "job.toml", "--seed", "-3"), ("unknown",), ("check", "a", "b"),
    ],
)  # fmt: skip
def test_wrong_usage(words: tuple[str, ...]) -> None:
    told = marker(*words)
    assert (told.exit_code, told.stdout) == (2, "")
    assert told.stderr


@pytest.mark.parametrize("name", ["a.b", "x" * 61, "a\x07"])
def test_a_new_job_of_an_impossible_name(name: str, tmp_path: Path) -> None:
    told = marker("new", tmp_path / name)
    assert (told.exit_code, told.stdout) == (2, "")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--seconds", "abc"), "'abc' is no number. Give a number of seconds from 0 to 86400."),
        (("--seconds", "nan"), "nan can't be used here. Give a number of seconds from 0 to 86400."),
        (("--iterations", "1.5"), "'1.5' is no whole number. Give a whole number of 0 or more."),
        (("--workers", "65"), "65 can't be used here. Give a whole number from 1 to 64."),
    ],
)
def test_wrong_numbers_are_refused_in_plain_words(words: tuple[str, ...], said: str) -> None:
    told = marker("lay", "job.toml", *words)
    assert told.exit_code == 2
    assert said in " ".join(told.stderr.split())


@pytest.mark.parametrize("command", ["lay", "buy", "order", "shortage", "bands", "move", "serve"])
def test_the_help_shows_no_formulas(command: str) -> None:
    said = marker(command, "--help").output
    assert "RANGE" not in said
    assert "<=" not in said


@pytest.mark.parametrize("command", [("judge",), ("print", "--paper", "a4")])
def test_a_job_given_for_a_layout_is_told_what_to_do(
    command: tuple[str, ...], tmp_path: Path
) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    told = marker(*command, job)
    assert told.exit_code == 2
    assert f"this is a job, not a layout. Lay it first with `marker lay {job}`" in told.stderr


def test_the_folder_of_a_job_is_told_its_job(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    refused(tmp_path, 2, (f"this is a folder, not a job. Give the job in it, {job}.",))


@pytest.mark.usefixtures("no_diagrams")
def test_a_layout_given_for_a_job_is_told_its_job_plainly(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    laid(job, "--iterations", 0)
    told = marker("check", tmp_path / "out" / "layout.json")
    assert told.exit_code == 2
    assert f"Give the job it was made from, {job}." in told.stderr
    told = marker("judge", tmp_path / "out")
    assert told.exit_code == 2
    assert f"Give the layout in it, {tmp_path / 'out' / 'layout.json'}." in told.stderr


def test_an_order_that_is_missing_is_shown(tmp_path: Path) -> None:
    text = TWO_PIECES.replace('order = { "38" = 1 }', "")
    refused(job_file(tmp_path, text), 2, ("Add it, such as order = { 38 = 2, 40 = 1 }",))


def test_one_entry_is_not_several(tmp_path: Path) -> None:
    job = job_file(tmp_path, HEAD + piece("points = [[0], [1, 2], [3, 4]]"))
    refused(job, 2, ("this has 1 entry, too few",))


LONG = "x" * 300
"""No file can be called so."""


@pytest.mark.parametrize(
    "words",
    [
        ("check", LONG),
        ("judge", LONG),
        ("import", f"{LONG}.svg", "--out", "out"),
        ("import", "a.svg", "--out", LONG),
        ("layouts", "job.toml", "--out", LONG),
        ("order", "--demand", f"{LONG}=1", "--max-garments", 9),
    ],
)
def test_names_that_no_file_can_have_are_told(
    words: tuple[object, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    svg(tmp_path, '<path d="M 0 0 H 90 V 90 H 0 Z"/>')
    (tmp_path / "drawing.svg").rename(tmp_path / "a.svg")
    job_file(tmp_path, TWO_PIECES)
    told = marker(*words)
    assert told.exception is None or isinstance(told.exception, SystemExit), told.exception
    assert "File name too long" in told.stderr or told.exit_code != 1


def test_many_sizes_in_an_order_are_no_name_of_a_file() -> None:
    sizes = ",".join(f"{k}={k + 1}" for k in range(99))
    told = marker("order", "--demand", sizes, "--max-garments", 1000, "--seconds", 0.2)
    assert told.exit_code == 0, told.output


@pytest.mark.usefixtures("no_diagrams")
def test_no_terminal_obeys_the_name_of_a_folder(tmp_path: Path) -> None:
    """Red letters on, as a name could turn them: in lines for a person and in JSON."""
    folder = tmp_path / "red\x1b[31m"
    folder.mkdir()
    path = job_file(folder, TWO_PIECES)
    out, layout = folder / "out", folder / "out" / "layout.json"
    for words in (
        ("lay", path, "--iterations", 0, "--out", out),
        ("lay", path, "--iterations", 0, "--out", out, "--json"),
        ("judge", layout),
        ("layouts", path, "--out", out),
        ("export", layout, "--to", "svg", "--out", out),
        ("buy", path, "--iterations", 0, "--widths", "150cm", "--out", out),
        ("print", layout, "--paper", "a4", "--out", folder / "pages.pdf"),
    ):
        told = marker(*words)
        assert "x1b[31m" in told.stdout or "u001b[31m" in told.stdout, words
