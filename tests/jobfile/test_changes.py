"""Changes of pieces at a line: what becomes of them in every size, what follows, and each fault."""

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
from tests.jobfile.writer import faults, job
from tests.jobfile.writer import place as fault_place

HEAD = """
name = "choir dress"
units = "mm"
size = "38"
sizes = ["36", "38", "40"]
order = { "38" = 1 }
cloth.jersey = { width = "150 cm" }
"""


def dress(name: str, line: str = "stitching line") -> str:
    """Half a dress: hem at y 0 flared by 60, sides of 700 and 200 mm, a round armhole and a
    neck; 10 mm wider from size to size."""
    paths = ", ".join(
        f'{size} = "M 0 0 L {wide + 60} 0 L {wide} -700 C {wide - 30} -760 {wide - 40} -800 '
        f'{wide - 40} -900 L {wide - 120} -930 C {wide - 120} -880 40 -860 0 -860 Z"'
        for size, wide in (("36", 210), ("38", 220), ("40", 230))
    )
    return f"""
[[piece]]
name = "{name}"
path = {{ by_size = {{ {paths} }} }}
line = "{line}"
allowance = 10
fold = [6, 1]
edges = {{ hem = [1, 2], side = [2, 3], armhole = [3, 4], shoulder = [4, 5], neck = [5, 6] }}
hems = {{ hem = {{ kind = "turned once", depth = 30 }} }}
notches = [{{ edge = "side", at = 600, name = "waist" }}, {{ edge = "side", at = 100 }}]
marks = [{{ kind = "placement", name = "pocket", points = [[60, 200], [140, 200]] }}]
"""


SEWN = """
[[seam]]
name = "side"
sides = ["front.side", "back.side"]
[[seam]]
name = "shoulder"
sides = ["front.shoulder", "back.shoulder"]
[[opening]]
name = "neckline"
edges = ["front.neck", "back.neck"]
points = { "centre front" = "front.neck at fold", "centre back" = "back.neck at fold" }
[[opening]]
name = "armhole"
edges = ["front.armhole", "back.armhole reversed"]
points = { "under arm" = "front.armhole at start" }
[[strip]]
name = "neck binding"
width = 50
ratio = 0.9
finishes = "neckline"
"""
DRESS = HEAD + dress("front") + dress("back") + SEWN


def change(*lines: str, piece: str = "front", at: str = '["side at waist"]') -> str:
    return "\n[[change]]\n" + "\n".join([f'piece = "{piece}"', f"line = {at}", *lines]) + "\n"


def split(piece: str, *more: str) -> str:
    names = f'split = ["top {piece}", "skirt {piece}"]'
    return change(names, 'edge = "cut edge"', *more, piece=piece)


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
    as before; hem, notches, grain and allowances are kept, and each part is laid and judged."""
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
    """A cropped dress with a waistband: the opening names the new edges, which both meet the fold,
    as they are 60 cm up the sides: 226 mm of each half (600 of 702 mm up a flare of 60 mm)."""
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


# what is wrong: text after the dress, place, words of the problem, words of the remedy
FAULTY: dict[str, tuple[str, str, str, str]] = {
    "no piece": (change("lengthen = 9", piece="frnt"), "piece", "'frnt'", "'front'"),
    "a piece that was split": (
        split("front") + change("lengthen = 9"), "piece", "is split above", "'skirt front'"
    ),
    "nothing said": (change(), "", "nothing says what is done", "exactly one of lengthen"),
    "two things said": (
        change("lengthen = 9", "shorten = 8"), "", "lengthen and shorten say", "exactly one"
    ),
    "no such edge": (change("lengthen = 9", at='["sid at 9 mm"]'), "line", "'sid'", "'side'"),
    "no place": (change("lengthen = 9", at='["side"]'), "line", "names no place", "Write"),
    "beyond the edge": (
        change("lengthen = 9", at='["side at 800 mm"]'), "line", "not on a stitching line", "Name"
    ),
    "a line that misses": (
        change('keep = "below"', at='["hem at start"]'), "line", "the line misses", "Move it"
    ),
    "one point twice": (
        change('keep = "below"', at='["side at end", "armhole at start"]'), "line", "one point",
        "lie apart",
    ),
    "more than there is": (change("shorten = 690"), "line", "too little", "Move the line"),
    "through a mark": (
        change('keep = "left"', at='["hem at 100 mm"]'), "line",
        "cuts through the placement pocket", "Move the line",
    ),
    "longer through a mark": (
        change("widen = 5", at='["hem at 100 mm"]'), "line", "cuts through the placement", "Move"
    ),
    "left of a line across": (
        change('keep = "left"', at='["side at 0 mm", "hem at start"]'), "line", "left this line",
        "above or below",
    ),
    "a name that is taken": (
        change('split = ["back", "skirt"]'), "split", "two pieces called 'back'", "of its own"
    ),
    "a name of a strip": (
        change('split = ["neck binding", "skirt"]'), "split", "'neck binding'", "of its own"
    ),
    "an edge's name that is taken": (
        change('keep = "above"', 'edge = "neck"'), "line", "an edge 'neck' already", "`edge`"
    ),
    "an allowance where nothing is cut": (
        change("lengthen = 9", "allowance = 9"), "allowance", "nothing is cut", "Leave it out"
    ),
    "sewn where nothing is split": (
        change('keep = "above"', "sewn = false"), "sewn", "nothing is cut", "Leave it out"
    ),
    "a hem beside an allowance": (
        change('keep = "above"', "allowance = 9", 'hem = "rolled"'), "allowance", "hemmed", "depth"
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTY)
def test_each_fault_has_its_line_and_a_remedy(tmp_path: Path, name: str) -> None:
    text, key, problem, remedy = FAULTY[name]
    fault = faults(tmp_path, DRESS + text)[0]
    number = text.count("[[change]]")
    wanted = f"change {number}" + (f", {key}" if key else "")
    assert fault_place(fault).startswith(f"{tmp_path / 'job.toml'}: {wanted}")
    assert fault.line > DRESS.count("\n")
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_a_line_that_misses_in_some_sizes_names_them(tmp_path: Path) -> None:
    """The hem is 270, 280 and 290 mm long."""
    found = faults(tmp_path, DRESS + change("widen = 5", at='["hem at 285 mm"]'))
    assert [fault.place.rpartition("size ")[2] for fault in found] == ["36", "38"]


def test_what_is_cut_away_is_told_where_it_is_named(tmp_path: Path) -> None:
    """A skirt of the front alone: shoulder, neck and armhole are named above, and gone."""
    found = faults(tmp_path, DRESS + change('keep = "below"'))
    places = [fault_place(fault).partition("job.toml: ")[2] for fault in found]
    assert places[:2] == ["seam 2 (shoulder), sides[1].edges[1]", "opening 1 (neckline), edges[1]"]
    assert all("change 1 cuts" in fault.problem for fault in found)


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
