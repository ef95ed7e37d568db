"""Every garment in every size: seams meet, outlines are simple, `marker check` finds nothing."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.blocks.body import SIZES, Body
from marker.blocks.catalogue import GARMENTS
from marker.blocks.curve import length_of, points_on
from marker.blocks.garment import FOLD, Block, Draft
from marker.cloth.behaviour import Direction
from marker.pattern.edge import EdgeRef
from marker.pattern.seams.sewing import Seam
from tests.blocks.drafted import BUSTS_MM, block, job

busts = st.floats(*BUSTS_MM)
SEWN_MM = 1.0  # sides that are drafted to be equal differ by no more
SMALLEST, MIDDLE, LARGEST = "116", "38", "66"


def sewn_mm(pieces: dict[str, Draft], ref: EdgeRef) -> float:
    """Length of an edge less what is taken in along it, of both halves where it ends on a fold."""
    piece = pieces[ref.piece]
    lines = piece.edges[ref.edge]
    taken = sum(t.drawn_mm - t.sewn_mm for t in piece.fullness if t.edge == ref.edge)
    folds = {end for fold in piece.edges.get(FOLD, ()) for end in (fold.start, fold.end)}
    halves = 2 if folds & {lines[0].start, lines[-1].end} else 1
    return halves * (length_of(lines) - taken)


def sides_mm(own: Block, seam: int) -> list[float]:
    """Length of each side of a seam less its ease."""
    pieces = {piece.name: piece for piece in own.pieces}
    return [
        sum(sewn_mm(pieces, ref) for ref in side.edges) - side.ease_mm
        for side in own.seams[seam].sides
    ]


@pytest.mark.parametrize("garment", GARMENTS)
@given(bust=busts)
def test_drafted_seams_meet_in_every_size(garment: str, bust: float) -> None:
    own = block(garment, Body.like({"bust": bust}))
    for number, seam in enumerate(own.seams):
        lengths = sides_mm(own, number)
        assert max(lengths) - min(lengths) < SEWN_MM, (seam.name, lengths)


@pytest.mark.parametrize(
    ("garment", "ease_mm"),
    [
        ("full circle skirt", 10),
        ("half circle skirt", 10),
        ("quarter circle skirt", 10),
        ("a-line skirt", 10),
        ("gathered skirt", 15),
    ],
)
@given(bust=busts)
def test_the_waist_is_the_bodys_with_its_ease(garment: str, ease_mm: float, bust: float) -> None:
    """Darts sewn, gathers drawn in; the waistband is as long."""
    body = Body.like({"bust": bust})
    own = block(garment, body)
    pieces = {piece.name: piece for piece in own.pieces}
    (waist,) = own.openings
    sewn = sum(sewn_mm(pieces, ref) for ref in waist.edges)
    assert sewn == pytest.approx(body.waist + ease_mm, abs=SEWN_MM)


@pytest.mark.parametrize("garment", GARMENTS)
@given(bust=busts)
def test_outlines_go_once_around(garment: str, bust: float) -> None:
    """Closed, simple, nowhere thinner than a seam allowance, notches on their edges, folds
    straight up the sheet with the rest on their right."""
    for piece in block(garment, Body.like({"bust": bust})).pieces:
        lines = piece.outline
        assert all(abs(one.end - two.start) < 1e-6 for one, two in pairwise((*lines, lines[0])))
        outline = shapely.Polygon(points_on(lines))
        assert outline.is_valid, piece.name
        assert outline.buffer(-5).geom_type == "Polygon", piece.name
        for notch in piece.notches:
            assert 0 <= notch.at_mm <= piece.length(notch.edge), (piece.name, notch)
        for fold in piece.edges.get(FOLD, ()):
            assert fold.handles is None
            assert fold.start.real == fold.end.real == piece.corner.real, piece.name


@pytest.mark.parametrize("garment", ["t-shirt", "tank dress", "tunic", "robe"])
@settings(max_examples=10)
@given(bust=busts)
def test_the_neck_passes_the_head_and_bands_lie_flat(garment: str, bust: float) -> None:
    """The neck's girth by shapely, stretched as far as the cloth goes; and no finding of a band."""
    body = Body.like({"bust": bust})
    own = block(garment, body)
    necks = [each for piece in own.pieces for each in piece.edges.get("neck", ())]
    around = [[each.at(k / 400) for k in range(401)] for each in necks]
    girth = 2 * sum(shapely.LineString([(p.real, p.imag) for p in line]).length for line in around)
    gauge = own.cloths[0].gauge
    stretch = (gauge.stretch(Direction.CROSSGRAIN) or 0.0) if gauge else 0.0
    assert girth * (1 + stretch) > body.head
    assert job(garment, {"own": body}).findings("own") == ()


@pytest.mark.parametrize("garment", GARMENTS)
def test_check_finds_nothing_in_the_smallest_middle_and_largest_size(garment: str) -> None:
    sizes = (SMALLEST, MIDDLE, LARGEST) if GARMENTS[garment].measures else (MIDDLE,)
    own = job(garment, {size: Body.of_size(size) for size in sizes})
    assert {size: own.findings(size) for size in sizes} == dict.fromkeys(sizes, ())


@pytest.mark.parametrize(
    ("garment", "size"),
    [
        (name, size)
        for name, garment in GARMENTS.items()
        for size in (SMALLEST, MIDDLE, LARGEST)
        if garment.measures or size == MIDDLE
    ],
)
def test_no_two_marks_read_as_one_but_the_pairs_of_a_back(garment: str, size: str) -> None:
    """Notches lie 15 mm apart or more, but for those drafted as a pair, which are there once for
    each half."""
    body = Body.of_size(size)
    own, read = block(garment, body), job(garment, {size: body})
    drafted = {piece.name: piece for piece in own.pieces}
    for cloth in read.cloths:
        for piece in read.cut_pieces(cloth):
            near = sum(math.dist(a, b) < 14.5 for a, b in combinations(piece.notches.tolist(), 2))
            base = drafted.get(piece.name.removesuffix(" lining"))
            pairs = 0
            if base is not None:
                pairs = sum(
                    one.edge == two.edge and abs(two.at_mm - one.at_mm - 10) < 1e-6
                    for one, two in pairwise(base.notches)
                ) * (2 if FOLD in base.edges else 1)
            assert near == pairs, (piece.name, near, pairs)


@pytest.mark.parametrize("garment", GARMENTS)
def test_what_is_read_back_is_what_was_drafted(garment: str) -> None:
    """Names, edges to 0.05 mm (drawings give hundredths, curves are chords), sewing."""
    body = Body.of_size(MIDDLE)
    own, read = block(garment, body), job(garment, {MIDDLE: body}).in_size(MIDDLE)
    names = [piece.name for piece in own.pieces] + [each.name for each in own.derived]
    assert [piece.name for piece in read.pieces] == names
    assert [_sewn(each) for each in read.seams] == [_sewn(each) for each in own.seams]
    assert [(o.name, o.edges, list(o.points)) for o in read.openings] == [
        (o.name, o.edges, list(o.points)) for o in own.openings
    ]
    assert [(g.name, g.edges) for g in read.girths] == [(g.name, g.edges) for g in own.girths]
    assert [strip.name for strip in read.strips] == [strip.name for strip in own.strips]
    for piece, drafted in zip(read.pieces, own.pieces, strict=False):
        drawn = shapely.Polygon(piece.outline)
        assert drawn.area == pytest.approx(
            shapely.Polygon(points_on(drafted.outline)).area, rel=2e-3
        )
        assert set(piece.edges) == set(drafted.edges) - {FOLD}
        assert (piece.cut, piece.pair) == (drafted.cut, drafted.pair)
        assert len(piece.notches) == len(drafted.notches)


def _sewn(seam: Seam) -> tuple[object, ...]:
    """A seam, its eases to 0.1 mm."""
    return seam.name, [(side.edges, round(side.ease_mm, 1)) for side in seam.sides]


def test_sizes_run_from_the_smallest_to_the_largest() -> None:
    assert (next(iter(SIZES)), list(SIZES)[-1]) == (SMALLEST, LARGEST)


@pytest.mark.parametrize("name", ["half circle skirt", "gathered skirt", "a-line skirt"])
def test_skirts_end_at_the_knee_of_every_size(name: str) -> None:
    """The knee is at 0.285 of the height (Drillis & Contini 1966, from memory)."""
    for size in SIZES:
        body = Body.of_size(size)
        block = GARMENTS[name].drafted({size: body}, size, {}).sizes[size]
        skirt = next(piece for piece in block.pieces if piece.name.startswith("skirt"))
        edge = next(each for each in ("side", "left", "right") if each in skirt.edges)
        hem_up = body.waist_to_floor - skirt.length(edge)
        assert abs(hem_up - 0.285 * body.height) < 0.08 * body.height


@pytest.mark.parametrize(("name", "least", "most"), [("t-shirt", 40, 100), ("tunic", 60, 150)])
def test_sleeves_follow_the_arm_and_not_the_bust(name: str, least: int, most: int) -> None:
    for size in SIZES:
        body = Body.of_size(size)
        block = GARMENTS[name].drafted({size: body}, size, {}).sizes[size]
        sleeve = next(piece for piece in block.pieces if piece.name == "sleeve")
        front, back = sleeve.edges["front cap"][0], sleeve.edges["back cap"][0]
        width = front.start.real - back.end.real
        assert least <= width - body.upper_arm <= most, size
        if name == "t-shirt":  # a short one does not grip the arm
            assert sleeve.length("wrist") > body.upper_arm
