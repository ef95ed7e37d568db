"""Changes of pieces at a line: what becomes of them in every size, and what follows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from marker.job import Job
from marker.jobfile.reading import read_job
from marker.judge import check
from marker.pattern.edge import EdgeRef
from marker.pattern.piece import Piece
from marker.pattern.seams.walk import walk
from marker.pattern.stitching import edge_length_mm, edge_line
from tests.helpers import layout, place
from tests.jobfile.dress import DRESS, HEAD, change, dress, split
from tests.jobfile.writer import faults, job


def pieces_of(job: Job, size: str) -> dict[str, Piece]:
    return {piece.name: piece for piece in job.in_size(size).pieces}


def area(piece: Piece) -> float:
    return float(shapely.Polygon(piece.outline).area)


HEIGHTS = st.floats(0.05, 0.95)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=15)
@given(HEIGHTS, HEIGHTS)
def test_the_parts_of_a_split_piece_make_up_its_area_in_every_size(
    tmp_path: Path, one: float, other: float
) -> None:
    """Straight across at a place of the side, or from there aslant to the neck or the hem."""
    before = job(tmp_path, DRESS)
    texts = [f'["side at {700 * one:.1f} mm"]']
    texts.append(f'["side at {700 * one:.1f} mm", "neck at {120 * other:.1f} mm"]')
    for at in texts:
        after = job(tmp_path, DRESS + change('split = ["a", "b"]', at=at, piece="back"))
        for size in before.sizes:
            whole, found = pieces_of(before, size)["back"], pieces_of(after, size)
            assert area(found["a"]) + area(found["b"]) == pytest.approx(area(whole), rel=1e-9)
            both = shapely.union_all([shapely.Polygon(found[k].outline) for k in "ab"])
            assert both.buffer(0.01).covers(shapely.Polygon(whole.outline))
            assert edge_length_mm(found["a"], "cut") == pytest.approx(
                edge_length_mm(found["b"], "cut"), abs=0.01
            )


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=15)
@given(st.floats(0.1, 0.9), st.floats(-80.0, 300.0))
def test_a_piece_becomes_longer_by_what_is_said_in_every_size(
    tmp_path: Path, share: float, by: float
) -> None:
    """The fold, which runs along the grain, by just so much; nothing beyond the side changes."""
    way = "lengthen" if by > 0 else "shorten"
    if abs(by) < 1:
        return
    text = DRESS + change(f"{way} = {abs(by):.3f}", at=f'["side at {700 * share:.1f} mm"]')
    before, after = job(tmp_path, DRESS), job(tmp_path, text)
    for size in before.sizes:
        old, new = pieces_of(before, size)["front"], pieces_of(after, size)["front"]
        assert np.ptp(new.outline[:, 1]) - np.ptp(old.outline[:, 1]) == pytest.approx(by, abs=0.002)
        assert np.ptp(new.outline[:, 0]) == pytest.approx(np.ptp(old.outline[:, 0]))
        for edge in ("armhole", "shoulder", "neck", "hem"):
            assert edge_length_mm(new, edge) == pytest.approx(edge_length_mm(old, edge), abs=0.01)
        rise = np.ptp(edge_line(old, "side"), axis=0)
        assert edge_length_mm(new, "side") == pytest.approx(
            np.hypot(rise[0], rise[1] + by), rel=1e-3
        )


def test_a_dress_becomes_a_cropped_top_and_a_skirt(tmp_path: Path) -> None:
    """Both pieces split at the waist and not sewn: the side seam is of both parts, the neck binding
    as before. Hem, notches, grain and allowances are kept, and each part is laid and judged."""
    hem = 'hem = { kind = "turned once", depth = 20 }'
    cut = split("front", "sewn = false", hem) + split("back", "sewn = false", hem)
    before, after = job(tmp_path, DRESS), job(tmp_path, DRESS + cut)
    assert list(pieces_of(after, "38")) == ["top front", "skirt front", "top back", "skirt back"]
    for size in after.sizes:
        found, whole = pieces_of(after, size), pieces_of(before, size)["front"]
        top, skirt = found["top front"], found["skirt front"]
        assert set(top.edges) == {"side", "armhole", "shoulder", "neck", "cut edge"}
        assert set(skirt.edges) == {"hem", "side", "cut edge"}
        assert [notch.name for notch in skirt.notches] == ["waist", ""]
        assert skirt.notches[0].at_mm == pytest.approx(600, abs=0.01)
        assert edge_length_mm(top, "side") + edge_length_mm(skirt, "side") == pytest.approx(
            edge_length_mm(whole, "side"), abs=0.01
        )
        assert top.grain_deg == skirt.grain_deg == 90
        assert skirt.edges["hem"].hem == whole.edges["hem"].hem
        assert {
            p.edges["cut edge"].hem.depth_mm for p in (top, skirt) if p.edges["cut edge"].hem
        } == {20.0}
        assert not top.inner_marks
        assert [mark.name for mark in skirt.inner_marks] == ["pocket"]
        assert after.findings(size) == before.findings(size) == ()
    pattern = after.pattern
    assert [seam.name for seam in pattern.seams] == ["side", "shoulder"]
    assert pattern.seams[0].sides[0].edges == (
        EdgeRef("skirt front", "side"), EdgeRef("top front", "side"),
    )  # fmt: skip
    assert pattern.openings[1].edges[1] == EdgeRef("top back", "armhole", reversed=True)
    bands = [each.strip_plans("38")[0].band for each in (before, after)]
    assert bands[0] is not None
    assert bands[1] is not None
    assert bands[1].seam_mm == pytest.approx(bands[0].seam_mm, abs=0.01)
    (cloth,) = after.cloths
    cut_pieces = after.cut_pieces(cloth)
    puts = [place(piece, 1100.0 * k, 0.0) for k, piece in enumerate(cut_pieces)]
    check(layout(puts, cloth), cut_pieces, after.garments)


@pytest.mark.parametrize("line", ["stitching line", "cut line"])
def test_parts_are_sewn_to_each_other_by_themselves(tmp_path: Path, line: str) -> None:
    """The seam follows from the split, both sides of one length on the stitching line, the
    allowance beyond it on each part."""
    text = HEAD + dress("front", line) + split("front", "allowance = 15")
    found = job(tmp_path, text)
    for size in found.sizes:
        (seam,) = found.in_size(size).seams
        assert seam.name == "front cut edge"
        one, other = (walk(found.in_size(size).pieces, side.edges) for side in seam.sides)
        assert one.length_mm == pytest.approx(other.length_mm, abs=0.01)
        assert found.findings(size) == ()
        top, skirt = pieces_of(found, size).values()
        assert top.edges["cut edge"].allowance_mm == 15
        heights = [edge_line(piece, "cut edge")[:, 1].mean() for piece in (top, skirt)]
        # of a cut line, the hem's allowance lies inside: the side's first corner is 30 mm up
        assert heights[0] == pytest.approx(heights[1], abs=0.01)


def test_a_part_that_loses_its_fold_is_cut_in_pairs(tmp_path: Path) -> None:
    """A front split from shoulder to hem: the middle stays on the fold, the side is cut twice."""
    cut = change('split = ["middle", "flank"]', at='["shoulder at middle", "hem at 15 cm"]')
    found = pieces_of(job(tmp_path, HEAD + dress("front").replace("marks", "# marks") + cut), "38")
    middle, flank = found["middle"], found["flank"]
    assert middle.fold is not None
    assert (middle.cut, middle.pair) == (1, False)
    assert flank.fold is None
    assert (flank.cut, flank.pair) == (2, True)


def test_an_opening_goes_on_over_a_fold_beside_a_cut(tmp_path: Path) -> None:
    """The front's neck cut through beside the fold: the flank's part of it comes twice, once for
    each half, and the binding is as long as before."""
    cut = change('split = ["middle", "flank"]', at='["neck at 40 mm", "hem at 200 mm"]')
    text = (DRESS + cut).replace("marks", "# marks")
    before, after = job(tmp_path, DRESS), job(tmp_path, text)
    names = [edge.piece for edge in after.pattern.openings[0].edges]
    assert names == ["flank", "middle", "flank", "back"]
    bands = [each.strip_plans("38")[0].band for each in (before, after)]
    assert bands[0] is not None
    assert bands[1] is not None
    assert bands[1].opening.length_mm == pytest.approx(bands[0].opening.length_mm, abs=0.01)
    assert after.findings("38") == before.findings("38") == ()


def test_a_band_finishes_the_edge_that_a_cut_made(tmp_path: Path) -> None:
    """A cropped dress with a waistband: the opening names the new edges, which both meet the fold.

    They are 60 cm up the sides: 226 mm of each half (600 of 702 mm up a flare of 60 mm).
    """
    crop = 'keep = "below"', 'edge = "waist"'
    kept = DRESS.replace('finishes = "neckline"', 'finishes = "waistline"')
    kept = kept[: kept.index("[[seam]]")] + """
[[seam]]
name = "side"
sides = ["front.side", "back.side"]
[[opening]]
name = "waistline"
edges = ["front.waist", "back.waist"]
""" + kept[kept.index("[[strip]]") :]  # fmt: skip
    cropped = kept + change(*crop) + change(*crop, piece="back")
    found = job(tmp_path, cropped)
    (plan,) = found.strip_plans("38")
    assert plan.band is not None
    half = 280 - 60 * 600 / np.hypot(60, 700)
    assert plan.band.opening.length_mm == pytest.approx(4 * half, abs=0.1)


def test_changes_are_made_one_after_the_other(tmp_path: Path) -> None:
    """Longer by 40 mm, then cropped at a place of the longer side, then wider by 10 mm."""
    steps = [
        change("lengthen = 40", at='["side at 300 mm"]'),
        change('keep = "below"', 'edge = "top"', at='["side at 640 mm"]'),
        change("widen = 10", at='["hem at 50 mm"]'),
    ]
    text = HEAD + dress("front").replace("marks", "# marks")
    found = pieces_of(job(tmp_path, text + "".join(steps)), "38")["front"]
    assert edge_length_mm(found, "side") == pytest.approx(640, rel=1e-3)
    assert set(found.edges) == {"hem", "side", "top"}
    assert edge_length_mm(found, "hem") == pytest.approx(290, abs=0.01)


LINED = """
[[derived]]
name = "lining"
of = "%s"
trims = { hem = 20 }
"""


def test_what_is_derived_follows(tmp_path: Path) -> None:
    text = HEAD + dress("front") + change("lengthen = 50") + LINED % "front"
    found = pieces_of(job(tmp_path, text), "38")
    assert np.ptp(found["lining"].outline[:, 1]) == pytest.approx(
        np.ptp(found["front"].outline[:, 1]) - 20, abs=0.1
    )
    parts = HEAD + dress("front") + split("front") + LINED % "skirt front"
    assert "lining" in pieces_of(job(tmp_path, parts), "38")


def test_a_dart_is_not_cut_through(tmp_path: Path) -> None:
    dart = 'darts = [{ edge = "side", at = 500, intake = 30, depth = 90 }]\n'
    text = HEAD + dress("front") + dart
    for what in ("lengthen = 9", 'keep = "above"'):
        fault = faults(tmp_path, text + change(what, at='["side at 505 mm"]'))[0]
        assert "cuts through the dart" in fault.problem
    for at, kept in (("300 mm", "above"), ("600 mm", "below")):
        cut = change(f'keep = "{kept}"', at=f'["side at {at}"]')
        (piece,) = job(tmp_path, text.replace("marks", "# marks") + cut).pattern.pieces
        (taken,) = piece.fullness
        assert taken.drawn_mm == pytest.approx(30, abs=0.01)
        assert taken.start_mm == pytest.approx(485 - (300 if kept == "above" else 0), abs=0.01)


def test_a_rectangle_on_the_fold_with_notches_takes_changes(tmp_path: Path) -> None:
    """A piece given by its measures, 65 × 90 cm on the fold, made 10 cm shorter and cropped."""
    rectangle = """
[[piece]]
name = "panel"
shape = { kind = "rectangle", width = "65 cm", height = "90 cm" }
fold = [4, 1]
edges = { hem = [1, 2], side = [2, 3], waist = [3, 4] }
notches = [{ edge = "side", at = "60 cm" }]
"""
    (panel,) = job(
        tmp_path, HEAD + rectangle + change("shorten = 100", at='["side at 30 cm"]', piece="panel")
        + change('keep = "left"', at='["hem at 50 cm"]', piece="panel"),
    ).pattern.pieces  # fmt: skip
    assert np.ptp(panel.outline, axis=0) == pytest.approx([500, 800], abs=0.001)
    assert panel.notches == ()  # its side is cut away
    assert panel.fold is not None


@pytest.mark.parametrize(
    "cut",
    [
        change('split = ["upper back", "lower back"]', piece="back", at='["armhole at 80 mm"]'),
        change('split = ["cap", "low sleeve"]', piece="sleeve", at='["front cap at 80 mm"]'),
    ],
)
def test_seams_of_graded_pieces_still_meet_in_every_size(cut: str) -> None:
    """The shirt is graded by rules, and its curves fitted until seams meet: so are those of the
    parts, though the cut goes through its armhole or its sleeve's cap."""
    path = Path(__file__).parents[2] / "pieces" / "shirt" / "job.toml"
    found = read_job(path, path.read_text(encoding="utf-8") + cut)
    assert len(found.sizes) == 5
    assert all(found.findings(size) == () for size in found.sizes)
