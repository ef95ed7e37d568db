"""Faulty strips: each fault with its place, what is wrong and how to correct it; and sound ones."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.cloth.behaviour import Direction
from marker.pattern.bands.strip import (
    AtPoint,
    ByRatio,
    Fold,
    Interfacing,
    Join,
    Lap,
    LapKind,
    Lies,
    LiesFlat,
    ShorterBy,
    Strip,
)
from marker.pattern.seams.sewing import Girth
from tests.jobfile.writer import HEAD, SQUARE, job, only_fault, opening, piece, place, strip

NECKED = HEAD + piece(SQUARE, "edges = { neck = [1, 2] }") + opening()
POINTED = NECKED + "points = { tip = 'front.neck at 3 mm' }\n"
FINISHES = "finishes = 'neckline'"
PLACE = "strip 1 (binding)"

# what is wrong: job text, key, words of the problem, words of the remedy
FAULTY: dict[str, tuple[str, str, str, str]] = {
    "no length": (NECKED + strip(), "", "nothing says", "one of length"),
    "two lengths": (
        NECKED + strip("length = 9", "ratio = 1", FINISHES), "", "length and ratio both", "one of"
    ),
    "three lengths": (
        NECKED + strip("lies_flat = true", "shorter_by = 3", "ratio = 1", FINISHES),
        "", "ratio and shorter_by and lies_flat both", "one of",
    ),
    "ratio of nothing": (NECKED + strip("ratio = 1"), "ratio", "needs an opening", "finishes"),
    "length and opening": (
        NECKED + strip("length = 9", FINISHES), "finishes", "given already", "Leave out"
    ),
    "ratio too large": (NECKED + strip("ratio = 2.1", FINISHES), "ratio", "large", "at most 2"),
    "ratio zero": (NECKED + strip("ratio = 0", FINISHES), "ratio", "small", "above 0"),
    "unknown opening": (
        NECKED + strip("ratio = 1", "finishes = 'nekcline'"), "finishes", "'nekc", "'neckline'"
    ),
    "a list of edges": (
        NECKED + strip("ratio = 1", "finishes = ['front.neck']"), "finishes", "text", "quotation"
    ),
    "unknown direction": (
        NECKED + strip("length = 9", "direction = 'cross'"), "direction", "'cross'", "'crossgrain'"
    ),
    "unknown fold": (
        NECKED + strip("length = 9", "fold = 'duoble'"), "fold", "'duoble'", "'double'"
    ),
    "two widths": (
        NECKED + strip("length = 9", "finished_width = 3", "fold = 'flat'"),
        "", "width and finished_width both", "one of width",
    ),
    "no width": (
        NECKED + strip("length = 9").replace("width", "# width"), "", "nothing says", "one of width"
    ),
    "finished how": (
        NECKED + strip("length = 9", "finished_width = 3").replace("width =", "# width =", 1),
        "finished_width", "takes a fold", '"single"',
    ),
    "eaten by allowances": (
        NECKED + strip("length = 9", "fold = 'single'", "seam_allowance = '25 mm'"),
        "width", "leave nothing", "wider",
    ),
    "allowance of a double fold": (
        NECKED + strip("length = 9", "fold = 'double'", "seam_allowance = 5"),
        "seam_allowance", "inner quarters", "Leave it out",
    ),
    "allowance of no fold": (
        NECKED + strip("length = 9", "seam_allowance = 5"), "seam_allowance", "nothing", "flat"
    ),
    "flat, but how wide": (
        NECKED + strip("lies_flat = true", FINISHES), "lies_flat", "finished width", "fold"
    ),
    "unstretched without an opening": (
        NECKED + strip("length = 9", "unstretched = [['a', 'b']]"),
        "unstretched", "finishes no opening", "Leave it out",
    ),
    "unknown point": (
        POINTED + strip("ratio = 1", FINISHES, "unstretched = [['tip', 'tipp']]"),
        "unstretched[1]", "'tipp'", "'tip'",
    ),
    "half a pair": (
        POINTED + strip("ratio = 1", FINISHES, "unstretched = [['tip']]"),
        "unstretched[1]", "few", "2",
    ),
    "joined nowhere": (
        POINTED + strip("ratio = 1", FINISHES, "join_at = 'top'"), "join_at", "'top'", "'tip'"
    ),
    "clear of nothing": (
        POINTED + strip("ratio = 1", FINISHES, "joins_clear_of = ['tip', 'top']"),
        "joins_clear_of[2]", "'top'", "'tip'",
    ),
}  # fmt: skip


@pytest.mark.parametrize("wrong", FAULTY)
def test_fault_has_place_problem_and_remedy(wrong: str, tmp_path: Path) -> None:
    text, key, problem, remedy = FAULTY[wrong]
    fault = only_fault(tmp_path, text)
    where = f"{PLACE}, {key}" if key else PLACE
    assert place(fault) == f"{tmp_path / 'job.toml'}: {where}"
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_a_faulty_piece_or_opening_does_not_condemn_the_band_that_finishes_it(
    tmp_path: Path,
) -> None:
    text = HEAD + piece(SQUARE, "cut = 0", "edges = { neck = [1, 2] }") + opening()
    assert only_fault(tmp_path, text + strip("ratio = 1", FINISHES)).place.endswith("cut")
    text = NECKED.replace("front.neck", "front.nekc") + strip("ratio = 1", FINISHES)
    assert "opening 1" in only_fault(tmp_path, text).place


def only_strip(folder: Path, text: str) -> Strip:
    return job(folder, text).pattern.strips[0]


def test_widths_follow_the_fold(tmp_path: Path) -> None:
    found = only_strip(tmp_path, NECKED + strip("lies_flat = true", FINISHES, "fold = 'double'"))
    assert (found.width_mm, found.finished_mm, found.length) == (50, 12.5, LiesFlat())
    lines = ("ratio = 1", FINISHES, "fold = 'single'", "finished_width = 15", "seam_allowance = 6")
    found = only_strip(tmp_path, NECKED + strip(*lines).replace("width =", "# width =", 1))
    assert (found.width_mm, found.finished_mm, found.fold) == (42, 15, Fold.SINGLE)
    found = only_strip(tmp_path, NECKED + strip("ratio = 0.9", FINISHES))
    assert (found.width_mm, found.finished_mm, found.length) == (50, None, ByRatio(0.9))


@pytest.mark.parametrize(
    ("lines", "join"),
    [
        (("direction = 'bias'",), Join.DIAGONAL),
        (("direction = 'crossgrain'",), Join.STRAIGHT),
        (("direction = 'bias'", "join = 'straight'"), Join.STRAIGHT),
        (("join = 'diagonal'",), Join.DIAGONAL),
    ],
)
def test_bias_strips_are_joined_on_the_diagonal(
    lines: tuple[str, ...], join: Join, tmp_path: Path
) -> None:
    assert only_strip(tmp_path, NECKED + strip("length = 900", *lines)).join is join


def test_gauge_girth_and_what_must_pass(tmp_path: Path) -> None:
    keys = 'stretch = { crossgrain = "5 in", bias = "6 in" }, needs_stretch = 35, eases_in = 3'
    text = NECKED.replace('150 cm"', f'150 cm", {keys}') + "passes = '57 cm'\n"
    text += "[[girth]]\nname = 'bust'\nedges = ['front.neck']\nbody = '88 cm'\n"
    read = job(tmp_path, text)
    cloth = read.cloths[0]
    assert cloth.stretch(Direction.CROSSGRAIN) == pytest.approx(0.25)
    assert cloth.stretch(Direction.BIAS) == pytest.approx(0.50)
    assert cloth.stretch(Direction.LENGTHGRAIN) is None
    assert (cloth.needed_stretch, cloth.eases_in) == (0.35, 0.03)
    assert read.pattern.openings[0].passes_mm == 570
    assert read.pattern.girths == (Girth("bust", read.pattern.openings[0].edges, 880),)


V_NECK = HEAD + piece(
    "points = [[0, 0], [260, 0], [260, 600], [87, 600], [0, 420]]", "fold = [5, 1]",
    "edges = { neck = [4, 5] }",
) + opening("closed = false")  # fmt: skip
BOUND = ("ratio = 1", FINISHES, "fold = 'double'")


def test_a_band_round_a_point_is_mitred_unless_it_is_lapped(tmp_path: Path) -> None:
    assert job(tmp_path, V_NECK + strip(*BOUND)).pattern.strips[0].point is AtPoint.MITRED
    closed = V_NECK.replace("false", "true")
    lapped = job(tmp_path, closed + strip(*BOUND, "point = 'lapped'")).pattern.strips[0]
    assert lapped.point is AtPoint.LAPPED


@pytest.mark.parametrize(
    ("text", "problem", "remedy"),
    [
        (V_NECK + strip(*BOUND, "point = 'lapped'"), "is not closed", "mitred"),
        (V_NECK + strip(*BOUND, "point = 'laped'"), "'laped'", "'lapped'"),
        (V_NECK + strip("length = 9", "point = 'lapped'"), "finishes no opening", "finishes"),
        (POINTED + strip(*BOUND, "point = 'mitred'"), "has no corner", "lists the edges"),
        (V_NECK + strip(*BOUND).replace("5 cm", "80 cm"), "so sharp", "narrower"),
    ],
)
def test_points_that_cannot_be(text: str, problem: str, remedy: str, tmp_path: Path) -> None:
    fault = only_fault(tmp_path, text)
    assert fault.place.endswith(f"{PLACE}, point")
    assert problem in fault.problem
    assert remedy in fault.remedy


WAIST = HEAD + piece(SQUARE, "edges = { neck = [1, 2] }") + opening("closed = false")
STANDS = ("lies = 'standing'", FINISHES, "fold = 'single'")


def test_a_standing_band_is_as_long_as_its_opening_unless_it_says_otherwise(tmp_path: Path) -> None:
    ends = "underlap = { end = '3 cm' }", "overlap = { start = '15 mm' }"
    read = job(tmp_path, WAIST + strip(*STANDS, *ends, "interfacing = 'jersey'")).pattern.strips[0]
    assert (read.lies, read.length) == (Lies.STANDING, ShorterBy(0.0))
    assert (read.start_lap, read.end_lap) == (Lap(LapKind.OVER, 15), Lap(LapKind.UNDER, 30))
    assert read.interfacing == Interfacing("jersey", 7.0)
    shorter = job(tmp_path, WAIST + strip(*STANDS, "ratio = 0.9")).pattern.strips[0]
    assert shorter.length == ByRatio(0.9)


@pytest.mark.parametrize(
    ("text", "key", "problem", "remedy"),
    [
        (WAIST + strip(*STANDS, "lies_flat = true"), "lies_flat", "stands up", "Leave out"),
        (WAIST + strip(*STANDS, "lies = 'up'").replace("lies = 'standing'\n", ""),
         "lies", "'up'", "standing"),
        (WAIST + strip("lies = 'standing'"), "", "how long", "length"),
        (WAIST.replace("false", "true") + strip(*STANDS, "underlap = { end = 30 }"),
         "underlap", "no ends", "closed = false"),
        (WAIST + strip(*STANDS, "underlap = { end = 3 }", "overlap = { end = 3 }"),
         "overlap.end", "an underlap, too", "one of the two"),
        (WAIST + strip(*STANDS, "underlap = { ends = 3 }"), "underlap.ends", "unknown", "'end'"),
        (WAIST + strip("length = 90", "overlap = { end = 3 }"), "overlap", "no opening", "Leave"),
        (WAIST + strip(*STANDS, "interfacing = 'jersy'"),
         "interfacing.cloth", "'jersy'", "'jersey'"),
        (WAIST + strip(*STANDS, "interfacing = { cloth = 'jersey', trim = '25 mm' }"),
         "interfacing.trim", "leave nothing", "less"),
    ],
)  # fmt: skip
def test_standing_bands_that_cannot_be(
    text: str, key: str, problem: str, remedy: str, tmp_path: Path
) -> None:
    fault = only_fault(tmp_path, text)
    assert fault.place.endswith(f"{PLACE}, {key}" if key else PLACE)
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_interfacing_has_a_name_of_its_own(tmp_path: Path) -> None:
    twice = strip("length = 90", "interfacing = 'jersey'") + strip(
        "length = 90", name="binding interfacing"
    )
    assert "binding interfacing" in only_fault(tmp_path, WAIST + twice).problem
