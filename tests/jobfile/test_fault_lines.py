"""Each fault of a job file says on which line it stands, and they come in that order."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.files.toml_places import TomlLines
from tests.jobfile.writer import HEAD, SQUARE, faults, only_fault, opening, piece, strip

TEXT = '''\
name = "a [[piece]] # no comment"   # a comment, with = and [
note = """
[[piece]]
name = "not a piece"
"""
units = 'mm'
order."38" = 1
cloth.jersey = { width = "150 cm", price = { amount = 3,
    per = "1 m" } }

[cloth."fine wool"]
width = 3
flaw = [
    { name = "stain, [small]", along = [1, 2] },
    { name = "b" },
]

[[cloth.jersey.remnant]]
name = "left"

[[piece]]
name = "front"
points = [[0, 0], # first
          [1, 1],
          [2, 3]]
edges = { hem = [1, 2], "side = a" = [
    2, 3] }

[[piece]]
name = "back"
"edges" . neck = [3, 1]
[piece.hems.neck]
kind = "rolled"
'''


@pytest.mark.parametrize(
    ("place", "line"),
    [
        ("name", 1), ("note", 2), ("units", 6), ("order.38", 7), ("order.40", 7),
        ("cloth.jersey", 8), ("cloth.jersey, width", 8), ("cloth.jersey, price.per", 9),
        ("cloth.fine wool, width", 12), ("cloth.fine wool, flaw[1] (stain, [small]).along[2]", 14),
        ("cloth.fine wool, flaw[2].points", 15), ("cloth.fine wool, selvage", 11),
        ("cloth.jersey, remnant[1] (left)", 18), ("cloth.jersey, remnant[1].name", 19),
        ("piece 1 (front)", 21), ("piece 1 (front), name", 22), ("piece 1, points[1][2]", 23),
        ("piece 1 (front), points[3]", 25), ("piece 1 (front), edges.hem[2]", 26),
        ("piece 1 (front), edges.side = a[2]", 27), ("piece 2 (back)", 29),
        ("piece 2 (back), edges.neck", 31), ("piece 2 (back), hems.neck.kind", 33),
        ("piece 2 (back), hems.neck.depth", 32), ("piece 2 (back), cut", 29),
        ("piece 3 (sleeve), cut", 0), ("shape", 0), ("", 0),
    ],
)  # fmt: skip
def test_places_have_lines(place: str, line: int) -> None:
    assert TomlLines(TEXT).line(place) == line


def test_faults_come_in_the_order_of_their_lines(tmp_path: Path) -> None:
    text = (
        HEAD.replace("150", "-1")
        + opening(edges="front.nack")
        + piece(SQUARE, "edges = { neck = [1, 2] }", "cut = 0")
        + piece(SQUARE, "alowance = 3", name="back")
        + strip("length = 9", "fold = 'treble'")
    )
    found = faults(tmp_path, text)
    lines = text.splitlines()
    assert [lines[fault.line - 1].split(" = ")[0] for fault in found] == [
        "cloth.jersey", "edges", "cut", "alowance", "fold"
    ]  # fmt: skip
    path = tmp_path / "job.toml"
    assert [fault.place for fault in found[:2]] == [
        f"{path}:6: cloth.jersey, width", f"{path}:10: opening 1 (neckline), edges[1]"
    ]  # fmt: skip
    assert {fault.file for fault in found} == {str(path)}


def test_a_fault_of_a_file_of_rules_has_its_own_line(tmp_path: Path) -> None:
    (tmp_path / "rules.toml").write_text('units = "mm"\n\n[rules.side]\n40 = [1]\n')
    head = HEAD.replace("order", 'rules = "rules.toml"\nsizes = ["38", "40"]\norder')
    fault = only_fault(tmp_path, head + piece(SQUARE))
    assert fault.place == f"{tmp_path / 'rules.toml'}:4: rules.side, 40"


@pytest.mark.parametrize(
    ("line", "problem", "remedy"),
    [
        ("width = 150 cm", "without quotation marks", '"150 cm"'),
        ("width = 1,5", "decimal comma", "1.5"),
        ('price = { amount = 14,90, per = "1 m" }', "decimal comma", "1.5"),
        ("width = “150 cm”", "curved", "straight"),
        ("nap = one way", "word stands without", "text"),
        ("cut: 2", "colon", "key = value"),
        ("centre front = 2", "key with a space", "text"),
        ("cut = 1\ncut = 2\n", "twice", "once"),
        ("[order]\n[order]\n", "[order] stands there twice", "[[order]]"),
        ("points = [1 2]", "bracket, or no comma", "brackets"),
        ('name = "front', "quotation mark is missing at the end", "quotation"),
        ("cut = 1 2", "behind the value", "line"),
    ],
)
def test_broken_toml_is_told_in_plain_words(
    line: str, problem: str, remedy: str, tmp_path: Path
) -> None:
    fault = only_fault(tmp_path, 'size = "38"\n' + line)
    assert problem in fault.problem
    assert remedy in fault.remedy
    assert fault.line == len(("x\n" + line).splitlines())
    assert fault.place == f"{tmp_path / 'job.toml'}:{fault.line}"


@pytest.mark.parametrize("quote", ['"', "'"])
def test_a_text_that_is_not_closed_is_found_where_it_begins(quote: str, tmp_path: Path) -> None:
    fault = only_fault(tmp_path, f'size = "38"\nname = {quote}front\nunits = "mm"\n')
    assert "a quotation mark is missing at the end" in fault.problem
    assert (fault.line, "broken TOML at line 2" in fault.problem) == (2, True)


@pytest.mark.parametrize(("headers", "line"), [(("[", "[["), 2), (("[[", "["), 4)])
def test_a_table_in_single_brackets_among_several_is_found(
    headers: tuple[str, str], line: int, tmp_path: Path
) -> None:
    """Whichever of them comes first, the one in single brackets is the one to correct."""
    tables = [f'{each}piece{each.replace("[", "]")}  # one\nname = "a"' for each in headers]
    fault = only_fault(tmp_path, "\n".join(['size = "38"', *tables]))
    assert fault.problem == f"[piece] at line {line} must be [[piece]]"
    assert fault.line == line


@pytest.mark.parametrize("text", ["[order]\n[[order]]", "[cloth]\n[[cloth]]", "a = 1\n[[a]]"])
def test_a_table_of_which_there_is_one_is_not_to_be_doubled(text: str, tmp_path: Path) -> None:
    assert "must be [[" not in only_fault(tmp_path, text).problem
