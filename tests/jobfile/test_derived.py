"""Derived pieces of a job file: what they become in each size, and each fault of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from marker.pattern.stitching import edge_length_mm
from tests.jobfile.test_sizes import GRADE, RULED
from tests.jobfile.writer import HEAD, SQUARE, job, only_fault, piece

EDGES = "edges = { hem = [1, 2], side = [2, 3], top = [3, 4] }"
BASE = piece(SQUARE, EDGES, "line = 'stitching line'")
LINED = HEAD + "cloth.lining = { width = '1 m' }\n"


def derived(*lines: str, name: str = "lining", of: str = "front") -> str:
    return "\n[[derived]]\n" + "\n".join([f"name = '{name}'", f"of = '{of}'", *lines]) + "\n"


def test_a_lining_of_a_job(tmp_path: Path) -> None:
    lines = (
        "cloth = 'lining'", "trims = { hem = 20 }", "allowance = 10",
        "hems = { hem = 'turned twice' }",
    )  # fmt: skip
    front, lining = job(tmp_path, LINED + BASE + derived(*lines)).pattern.pieces
    assert (lining.name, lining.cloth) == ("lining", "lining")
    assert np.ptp(lining.outline[:, 1]) == pytest.approx(np.ptp(front.outline[:, 1]) - 20)
    assert lining.edges["hem"].hem is not None


def test_it_follows_every_size(tmp_path: Path) -> None:
    """A square of 90, 100 and 110 mm, its lining 2 mm smaller on each side."""
    text = RULED + piece(SQUARE, EDGES, "line = 'stitching line'", GRADE) + derived("trim = 2")
    read = job(tmp_path, text)
    widths = [np.ptp(read.in_size(size).pieces[1].outline[:, 0]) for size in read.sizes]
    assert widths == pytest.approx([86, 96, 106])


def test_its_edges_may_be_sewn(tmp_path: Path) -> None:
    facing = derived("near = { edges = ['hem'], within = 30 }", name="facing")
    seam = "\n[[seam]]\nname = 'hem'\nsides = ['front.hem', 'facing.hem']\n"
    read = job(tmp_path, HEAD + BASE + facing + seam)
    assert not any(found.seam for found in read.findings("38"))
    assert edge_length_mm(read.pattern.pieces[1], "inner") == pytest.approx(100, abs=0.1)


# what is wrong: text after the base, place, words of the problem, words of the remedy
FAULTY: dict[str, tuple[str, str, str, str]] = {
    "of nothing": (derived(of="frnt"), "of", "'frnt'", "'front'"),
    "of one that is derived": (
        derived() + derived(name="b", of="lining"), "of", "derived itself", "both of them"
    ),
    "unknown cloth": (derived("cloth = 'linnen'"), "cloth", "'linnen'", "jersey"),
    "unknown edge": (derived("trims = { hemm = 2 }"), "trims.hemm", "'hemm'", "'hem'"),
    "facing of no edge": (
        derived("near = { edges = ['neck'], within = 20 }"), "near.edges[1]", "'neck'", "hem"
    ),
    "nothing left": (derived("trim = 60"), "of", "no stitching line fits", "trim"),
    "allowance of a cut line": (
        derived("line = 'cut line'", "allowance = 10"), "line", "no allowances", "stitching line"
    ),
    "odd pair": (derived("pair = true"), "cut", "can't be cut 1 times", "even"),
    "same name": (derived(name="front"), "name", "are called 'front'", "name of its own"),
    "sewn edge that is not there": (
        derived("near = { edges = ['hem'], within = 30 }")
        + "\n[[seam]]\nname = 'a'\nsides = ['front.top', 'lining.top']\n",
        "sides[2].edges[1]", "'top'", "hem",
    ),
    "unknown key": (derived("trimm = 2"), "trimm", "unknown", "'trim'"),
}  # fmt: skip


@pytest.mark.parametrize("case", FAULTY)
def test_each_fault_has_its_place_and_remedy(case: str, tmp_path: Path) -> None:
    text, key, problem, remedy = FAULTY[case]
    fault = only_fault(tmp_path, HEAD + BASE + text)
    assert fault.place.endswith(f", {key}")
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_a_piece_is_shortened_where_cloth_is_short(tmp_path: Path) -> None:
    (front,) = job(tmp_path, HEAD + piece(SQUARE, EDGES, "shorten = { hem = 20 }")).pattern.pieces
    assert np.ptp(front.outline[:, 1]) == pytest.approx(80)
    for line, problem in (("hem = 120", "leave nothing"), ("hm = 20", "'hm'")):
        fault = only_fault(tmp_path, HEAD + piece(SQUARE, EDGES, f"shorten = {{ {line} }}"))
        assert "shorten.h" in fault.place
        assert problem in fault.problem


def test_a_faulty_piece_does_not_condemn_what_follows_from_it(tmp_path: Path) -> None:
    fault = only_fault(tmp_path, HEAD + piece(SQUARE, EDGES, "cut = 'x'") + derived())
    assert fault.place.endswith("piece 1 (front), cut")
