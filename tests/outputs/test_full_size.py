"""Full-size pages read by a reader of the test's own agree with the pattern's true curves."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.pages.full_size import FullSize
from marker.drawing.pages.full_size_lines import NOTCH_MM
from marker.drawing.pages.full_size_pdf import draw_full_size, render_full_size
from marker.drawing.pages.paper import paper_named
from marker.drawing.pages.tile_page import THICKER
from marker.drawing.signs import FOLD_DASHES, SIZE_DASHES
from marker.geometry.arrays import FloatArray
from marker.jobfile.reading import read_job
from marker.judge import check
from marker.layout import CheckedLayout
from marker.outputs.full_size import PrintRequest, planned_full_size
from tests.drawing.on_paper import words
from tests.drawing.pages.joined import join
from tests.drawing.pdf_pages import pages_of
from tests.helpers import layout, place

JOB = """
name = "curves"
size = "38"
sizes = ["36", "38", "40"]
units = "mm"
[order]
38 = 1
[cloth.jersey]
width = "150 cm"
[[piece]]
name = "front"
path = { by_size = { %s } }
fold = [1, 2]
edges = { hem = [2, 3], side = [3, 4], neck = [4, 1] }
marks = [{ kind = "text", name = "centre front", points = [[60, 200]] },
         { kind = "placement", name = "pocket", points = [[40, 80], [110, 80]] }]
notches = [{ edge = "side", at = "12 cm" }]
[[piece]]
name = "yoke"
shape = { kind = "ring sector", inner_radius = 150, outer_radius = 240, angle = 90 }
line = "stitching line"
allowance = "15 mm"
cut = 2
pair = true
"""
SIZES = {"36": 180.0, "38": 190.0, "40": 200.0}
NECK = 90.0


def controls(wide: float) -> FloatArray:
    """The side's cubic, from the hem up, mm, y up."""
    return np.array([(wide, 0.0), (wide + 50, 140.0), (wide - 90, 260.0), (wide - 20, 430.0)])


def path(wide: float) -> str:
    """The half front as path data, y down: its fold at x = 0, a quarter circle for the neck."""
    a, b, c, d = controls(wide) * [1, -1]
    return (
        f"M 0 {-430 + NECK} L 0 0 L {a[0]} {a[1]} C {b[0]} {b[1]} {c[0]} {c[1]} {d[0]} {d[1]} "
        f"L {NECK} -430 A {NECK} {NECK} 0 0 1 0 {-430 + NECK} Z"
    )


def cubic(points: FloatArray, steps: int = 2000) -> FloatArray:
    """By Bernstein polynomials, (steps + 1, 2)."""
    t = np.linspace(0.0, 1.0, steps + 1)[:, None]
    a, b, c, d = points
    ends = (1 - t) ** 3 * a + t**3 * d
    return np.asarray(ends + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c)


@pytest.fixture(scope="module")
def job_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    by_size = ", ".join(f'{size} = "{path(wide)}"' for size, wide in SIZES.items())
    found = tmp_path_factory.mktemp("curves") / "job.toml"
    found.write_text(JOB % by_size, encoding="utf-8")
    return found


@pytest.fixture(scope="module")
def laid(job_path: Path) -> CheckedLayout:
    job = read_job(job_path)
    (cloth,) = job.cloths
    front, yoke = job.cut_pieces(cloth)
    puts = [place(front, 0, 0), place(yoke, 500, 0), place(yoke, 900, 0, mirrored=True, copy=2)]
    return check(layout(puts, cloth), [front, yoke], job.garments)


def printed(laid: CheckedLayout, job_path: Path, paper: str, **asked: object) -> list[FullSize]:
    request = PrintRequest(paper_named(paper), **asked)  # type: ignore[arg-type]
    return list(planned_full_size(laid, read_job(job_path), job_path, request))


def cut_lines(planned: list[FullSize]) -> dict[tuple[float, ...], BaseGeometry]:
    """Dashes -> lines as wide as cut lines, read from the written file, its pages stitched by their
    crosses; mm."""
    pages = join(pages_of(render_full_size(planned))[1:])
    widest = max(drawn.width for page in pages for drawn in page.drawn)
    found: dict[tuple[float, ...], list[BaseGeometry]] = {}
    for page in pages:
        for drawn in page.drawn:
            if drawn.width > 0.99 * widest:
                lines = found.setdefault(tuple(np.round(drawn.dashes, 2)), [])
                runs = [shapely.LineString(run + page.at) for run in drawn.runs]
                lines += [run for run in runs if abs(run.length - NOTCH_MM) > 1e-3]
    return {dashes: shapely.union_all(lines) for dashes, lines in found.items()}


def side(wide: float, fold: FloatArray) -> FloatArray:
    """The true side, its grain along +x, the hem's end of the fold at `fold`."""
    drawn = cubic(controls(wide))
    return np.column_stack([drawn[:, 1], -drawn[:, 0]]) + fold


def off(drawn: BaseGeometry, true: FloatArray) -> float:
    """The farthest that what is drawn beside the true curve strays from it, and it from that."""
    curve, inner = shapely.LineString(true), shapely.LineString(true[30:-30])  # corners left out
    beside = shapely.segmentize(drawn.intersection(inner.buffer(1.5, cap_style="flat")), 0.25)
    points = shapely.points(shapely.get_coordinates(beside))
    there = float(shapely.distance(points, curve).max())
    back = float(shapely.distance(shapely.points(true[2:-2]), drawn).max())
    return max(there, back)


@pytest.mark.parametrize("halves", [False, True])
def test_printed_curves_are_the_true_curves(
    laid: CheckedLayout, job_path: Path, halves: bool
) -> None:
    """The side is a cubic, the neck a quarter circle: nowhere 0.05 mm off once pages are joined."""
    drawn = cut_lines(printed(laid, job_path, "a4", names=("front",), halves=halves))[()]
    low_x, low_y, _, high_y = drawn.bounds
    if halves:  # nothing of the other half: the neck ends at the fold
        assert high_y - low_y == pytest.approx(cubic(controls(190.0))[:, 0].max(), abs=0.05)
    fold = np.array([low_x, high_y if halves else (low_y + high_y) / 2])
    assert off(drawn, side(190.0, fold)) < 0.05
    angles = np.radians(np.linspace(180.0, 270.0, 500))
    centre = fold + np.array([430.0, 0.0])
    assert off(drawn, centre + NECK * np.column_stack([np.cos(angles), np.sin(angles)])) < 0.05


def test_an_allowance_round_an_arc_is_an_arc(laid: CheckedLayout, job_path: Path) -> None:
    """15 mm around a quarter ring of 150 and 240 mm: arcs of 135 and 255 mm about one centre."""
    drawn = cut_lines(printed(laid, job_path, "a3", names=("yoke",)))[()]
    _, low_y, high_x, _ = drawn.bounds
    angles = np.radians(np.linspace(95.0, 175.0, 500))
    for radius in (135.0, 255.0):
        arc = radius * np.column_stack([np.cos(angles), np.sin(angles)])
        assert off(drawn, arc + np.array([high_x - 15.0, low_y + 15.0])) < 0.05


def test_nested_sizes_have_lines_of_their_own_from_one_end_of_the_fold(
    laid: CheckedLayout, job_path: Path
) -> None:
    planned = printed(laid, job_path, "a4", names=("front",), halves=True, sizes=("36", "38", "40"))
    lines = cut_lines(planned)
    fold_dashes = tuple(dash * THICKER for dash in FOLD_DASHES)
    assert set(lines) == {*SIZE_DASHES[:3], tuple(np.round(fold_dashes, 2))}
    low_x, _, _, high_y = shapely.union_all(list(lines.values())).bounds
    for dashes, wide in zip(SIZE_DASHES, SIZES.values(), strict=False):
        assert off(lines[dashes], side(wide, np.array([low_x, high_y]))) < 0.05
    cover, *pages = draw_full_size(planned)
    assert all(f"cut line, size {size}" in words(cover) for size in SIZES)
    assert "cut 1 on the fold" in words(cover)
    for page in pages:
        assert set(SIZES) <= set(page.texts)
    named = [page for page in pages if page.named("size leader")]
    assert len(named) > len(pages) / 2


def test_a_label_says_how_many_of_what_cloth_and_allowance(
    laid: CheckedLayout, job_path: Path
) -> None:
    front, yoke = (
        " ".join(words(page) for page in draw_full_size([full]))
        for full in printed(laid, job_path, "a4", names=("front", "yoke"), halves=True)
    )
    for said in ("front", "size 38", "cut 1 on the fold", "jersey", "no allowance"):
        assert said in front
    for said in ("yoke", "cut 1 pair", "jersey", "allowance 15 mm"):
        assert said in yoke
    assert "centre front" in front  # a text mark
    assert "pocket" in front  # the name of a line
    assert "place on the fold" in front
    assert "place on the fold" not in yoke


SIGNS = ("stitching line", "centre fold", "to place on the fold", "notch", "placement",
         "edges of the cloth",
         "no page here", "join mark")  # fmt: skip


@pytest.mark.parametrize(
    ("asked", "paper", "signs"),
    [
        ({"names": ("front",)}, "a4", {"centre fold", "notch", "placement", "join mark"}),
        (
            {"names": ("front",), "halves": True},
            "a3",
            {"to place on the fold", "notch", "placement", "join mark"},
        ),
        ({"names": ("yoke",)}, "a0", {"stitching line"}),
        (
            {},
            "a4",
            {"stitching line", "centre fold", "notch", "placement", "edges of the cloth",
             "no page here",
             "join mark"},
        ),
    ],
)  # fmt: skip
def test_the_key_names_every_sign_that_is_used_and_no_other(
    laid: CheckedLayout, job_path: Path, asked: dict[str, object], paper: str, signs: set[str]
) -> None:
    cover = words(next(draw_full_size(printed(laid, job_path, paper, **asked))))
    assert {sign for sign in SIGNS if sign in cover} == signs


@pytest.mark.parametrize("paper", ["a4", "letter", "a3", "a0", "roll:900mm", "projector"])
def test_no_page_that_a_piece_lies_on_is_left_out(
    laid: CheckedLayout, job_path: Path, paper: str
) -> None:
    """Were it only the inside of the piece."""
    for full in printed(laid, job_path, paper, halves=True, sizes=("36", "40")):
        pages = [shapely.box(*np.ravel(full.tiling.core(tile))) for tile in full.printed]
        whole = shapely.union_all(pages).buffer(1e-6)
        for piece in full.scene.pieces:
            assert all(whole.contains(shapely.Polygon(e.outline)) for e in piece.in_all_sizes)


@pytest.mark.parametrize("sizes", [(), ("36", "38", "40")])
def test_every_piece_is_printed_once_apart_from_the_others(
    laid: CheckedLayout, job_path: Path, sizes: tuple[str, ...]
) -> None:
    """On common pages, which are fewer than those of each piece by itself."""
    (full,) = printed(laid, job_path, "a4", halves=True, sizes=sizes)
    pieces = full.scene.pieces
    assert [piece.name for piece in pieces] == ["front", "yoke"]
    areas = [
        shapely.union_all([shapely.Polygon(each.outline) for each in piece.in_all_sizes])
        for piece in pieces
    ]
    assert areas[0].distance(areas[1]) >= 10.0 - 1e-6
    apart = printed(laid, job_path, "a4", halves=True, sizes=sizes, names=("front", "yoke"))
    assert full.pages < sum(each.pages for each in apart)
