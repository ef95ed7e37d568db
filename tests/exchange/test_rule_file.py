"""Grade-rule files in the layout that excerpts of ASTM D6673 show, read and written."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.exchange.dxf.rule_file import RuleFile, moves_mm, read_rules, rules_text
from marker.files.faults import Unusable
from tests.exchange.exchange import CREATED

HEAD = """\
ASTM/D13Proposal 1 Version: D 6673-10
UNITS: ENGLISH
GRADE RULE TABLE: choir skirt
NUMBER OF SIZES: 3
SIZE LIST: 36 38 40
SAMPLE SIZE: 38
"""
RULES = """\
RULE: DELTA 1
-0.5, 0.25
0, 0
0.5, -0.25
RULE: DELTA 7
0 1  0 0  0 -1
END
"""


def read(text: str, folder: Path) -> RuleFile:
    path = folder / "skirt.rul"
    path.write_text(text, encoding="utf-8")
    return read_rules(path)


def test_rules_are_read(tmp_path: Path) -> None:
    rules = read(HEAD + RULES, tmp_path)
    assert (rules.name, rules.sizes, rules.sample) == ("choir skirt", ("36", "38", "40"), "38")
    assert rules.unit_mm == 25.4
    assert rules.moves == {
        1: ((-0.5, 0.25), (0, 0), (0.5, -0.25)),
        7: ((0, 1), (0, 0), (0, -1)),
    }
    assert moves_mm(rules, None)[1]["36"] == pytest.approx((-12.7, 6.35))
    assert moves_mm(rules, 10.0)[1]["36"] == pytest.approx((-5, 2.5))


def test_small_letters_commas_and_other_line_ends_are_read_alike(tmp_path: Path) -> None:
    text = (HEAD + RULES).lower().replace("36 38 40", "36, 38,40").replace("\n", "\r\n")
    assert read(text, tmp_path).moves == read(HEAD + RULES, tmp_path).moves


def test_what_is_written_reads_back(tmp_path: Path) -> None:
    moves = {1: ((-1.25, 0.0), (0.0, 0.0)), 2: ((0.0, 12.345), (0.0, 0.0))}
    rules = RuleFile("Chor – Rock", ("sehr groß", "M"), "M", 1.0, moves)
    text = rules_text(rules, CREATED)
    assert text.isascii()
    assert read(text, tmp_path) == rules


FAULTY = {
    "cut short": (HEAD + RULES.replace("END\n", ""), "ends in the middle", "Fetch"),
    "no rule": (HEAD + "END\n", "no rule in it", "Name"),
    "no sizes": (RULES, "lists 0 sizes", "SIZE LIST"),
    "too few sizes": (HEAD.replace("36 38", "38") + RULES, "lists 2 sizes (38, 40)", "NUMBER OF"),
    "a size twice": (HEAD.replace("36 38", "38 38") + RULES, "one twice", "once"),
    "no sample": (HEAD.replace("SAMPLE SIZE: 38\n", "") + RULES, "names no sample", "SAMPLE SIZE"),
    "other sample": (HEAD.replace("SIZE: 38", "SIZE: 44") + RULES, "'44'", "SIZE LIST"),
    "sample moves": (HEAD.replace("SIZE: 38", "SIZE: 36") + RULES, "rule 1 (line 7)", "0, 0"),
    "units": (HEAD.replace("ENGLISH", "CUBITS") + RULES, "'cubits'", "METRIC"),
    "a number short": (HEAD + RULES.replace("0 -1", "0"), "rule 7 (line 11)", "each size"),
    "no number": (HEAD + RULES.replace("0 -1", "0 x"), "rule 7", "dx, dy"),
    "endless": (HEAD + RULES.replace("0 -1", "0 1e999"), "rule 7", "dx, dy"),
    "other rule": (HEAD + RULES.replace("DELTA 7", "OMEGA 7"), "line 11: 'OMEGA 7'", "DELTA 1"),
    "rule twice": (HEAD + RULES.replace("DELTA 7", "DELTA 1"), "rule 1 is there twice", "DELTA"),
}


@pytest.mark.parametrize("name", FAULTY)
def test_faults_of_a_rule_file(name: str, tmp_path: Path) -> None:
    text, problem, remedy = FAULTY[name]
    with pytest.raises(Unusable) as raised:
        read(text, tmp_path)
    assert problem in raised.value.problem
    assert remedy in raised.value.remedy


def test_moves_are_never_guessed(tmp_path: Path) -> None:
    silent = read(HEAD.replace("UNITS: ENGLISH\n", "") + RULES, tmp_path)
    with pytest.raises(Unusable, match="does not say what its numbers measure"):
        moves_mm(silent, None)
    assert moves_mm(silent, 1.0)[7]["40"] == (0, -1)
    far = read(HEAD + RULES.replace("0 1 ", "0 50 "), tmp_path)
    with pytest.raises(Unusable, match=r"rule 7 moves a point by 1\.27 m \(50 in\)"):
        moves_mm(far, None)
