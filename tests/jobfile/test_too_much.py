"""What a job has too much of is counted before anything is built from it."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from marker.files.faults import MOST_TOLD
from tests.cli.commands import marker
from tests.jobfile.writer import HEAD, SQUARE, faults, only_fault, piece, place

MANY = 100_000
EDGES = "edges = { " + ", ".join(f"e{n} = [1, 2]" for n in range(3000)) + " }"
NOTCH = '{ edge = "a", at = 1 }'
CASES = {
    "pieces": (HEAD + piece(SQUARE) * 1500, "piece", "1500"),
    "sizes": (HEAD + "sizes = " + str([str(n) for n in range(MANY)]), "sizes", str(MANY)),
    "cloths": (
        HEAD + "".join(f'cloth.c{n} = {{ width = "1 m" }}\n' for n in range(200)) + piece(SQUARE),
        "cloth", "201",
    ),
    "edges": (HEAD + piece(SQUARE, EDGES), "piece[1].edges", "3000"),
    "notches": (
        HEAD + piece(SQUARE, f"notches = [{', '.join([NOTCH] * 3000)}]"), "piece[1].notches", "3000"
    ),
    "turns": (HEAD + piece(SQUARE, f"turns = {[1] * 36_000}"), "piece[1].turns", "36000"),
    "sides": (
        HEAD + piece(SQUARE) + f"[[seam]]\nname = 's'\nsides = {['front.a'] * MANY}\n",
        "seam[1].sides", str(MANY),
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", CASES)
def test_too_much_is_told_by_itself(what: str, tmp_path: Path) -> None:
    text, key, count = CASES[what]
    fault = only_fault(tmp_path, text)
    assert place(fault) == f"{tmp_path / 'job.toml'}: {key}"
    assert count in fault.problem
    assert "Split" in fault.remedy


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a." * 50_000 + "b = 1", "more than 12 with dots between"),
        ("[x]\n" + "'a'. \"b\" ." * 9 + "c = 1", "more than 12 with dots between"),
        ("".join(f"[a{n}]\n" for n in range(200_000)), "keys and tables, more than 150000"),
        ("".join(f"a{n}.b.c = 1\n" for n in range(60_000)), "keys and tables, more than 150000"),
        (f"points = [{'1,' * 600_000}]", "entries, more than 500000"),
    ],
)
def test_what_would_take_the_parser_long_is_counted_first(
    text: str, said: str, tmp_path: Path
) -> None:
    began = time.thread_time()
    assert said in only_fault(tmp_path, HEAD + text).problem
    assert time.thread_time() - began < 20


def test_many_numbers_are_no_deep_key(tmp_path: Path) -> None:
    points = ", ".join(f"[{n}.5, {n}.25]" for n in range(50))
    assert "has no area" in only_fault(tmp_path, HEAD + piece(f"points = [{points}]")).problem


def test_pieces_in_all_their_sizes_are_counted(tmp_path: Path) -> None:
    sizes = [str(n) for n in range(90)]
    text = HEAD.replace('size = "38"', f'size = "38"\nsizes = {[*sizes, "38"]}')
    fault = only_fault(tmp_path, text + piece(SQUARE) * 60)
    assert "5460" in fault.problem


def test_many_faults_are_told_in_part(tmp_path: Path) -> None:
    wrong = "".join(piece(SQUARE, "cut = 0", name=f"p{n}") for n in range(MOST_TOLD + 50))
    found = faults(tmp_path, HEAD + wrong)
    assert len(found) == MOST_TOLD + 1
    assert "50 more" in found[-1].problem


def test_no_control_character_of_a_file_reaches_the_terminal(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    evil = '"\\u001b[31mred"'
    job.write_text(
        HEAD + f"{evil} = 3\n" + piece(SQUARE, f"{evil} = 1", f"cloth = {evil}", f"line = {evil}")
    )
    told = marker("check", job)
    assert told.exit_code == 2
    assert "\\x1b[31mred" in told.stderr
    assert all(each.isprintable() or each == "\n" for each in told.stderr)


@pytest.mark.parametrize(
    "line", ['marks = [{ kind = "text", at = [9, 9], name = "\\u001b[31m" }]', None]
)
def test_texts_hold_no_control_character(line: str | None, tmp_path: Path) -> None:
    head = HEAD if line else HEAD.replace('150 cm"', '150 cm", rolls = { "\\u0007" = ["9 m"] }')
    assert "control character" in only_fault(tmp_path, head + piece(SQUARE, line or "")).problem
