"""Plaid tunics laid by the search: the judge passes them, a picture of the plaid agrees, and the
judge sees what is spoiled.

The picture is plain trigonometry. A plaid is a sum of waves. Points that match have the same
colour, and go on having it a little farther on, whichever way their pieces lie.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis, Bars, Border, Repeat, Side
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.judge import Code, findings
from marker.layout import CheckedLayout, Layout, Placement
from marker.pattern.edge import Edge
from marker.pattern.pattern import Pattern
from marker.pattern.repeats.match import MatchPoint
from marker.pattern.seams.sewing import Spot
from marker.planning.events import unheard
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import loads, spread, tasks
from tests.helpers import laid_outline
from tests.planning.plaids import at, body, plaid, tunic
from tests.random_layouts import moved

JOBS = 12


def random_plaid(rng: np.random.Generator) -> Cloth:
    """A plaid or stripes, even or not on either axis."""

    def bars() -> Bars:
        every = float(rng.uniform(20, 150))
        return Bars(every, float(rng.uniform(0, every)), bool(rng.random() < 0.6))

    along, across = bars(), bars()
    kind = rng.integers(4)
    return plaid(None if kind == 1 else along, None if kind == 2 else across)


@cache
def matched(seed: int) -> CheckedLayout:
    rng = np.random.default_rng(seed)
    job = tunic(
        random_plaid(rng),
        front=float(rng.uniform(220, 300)),
        back=float(rng.uniform(220, 300)),
        garments=1 + int(rng.random() < 0.3),
    )
    limits = SearchLimits(iterations=int(seed % 8 == 0), seed=seed, workers=1)
    (task,) = tasks(job)
    return lay_task(task, limits, unheard)


def codes(checked: CheckedLayout, layout: Layout) -> set[Code]:
    return {each.code for each in findings(layout, checked.cut_pieces, checked.garments)}


def wave(bars: Bars | None, at: float) -> float:
    """Colour at a place of one axis: even bars mirror themselves where they begin."""
    if bars is None:
        return 0.0
    angle = 2 * np.pi * (at - bars.begins_mm) / bars.every_mm
    return float(np.cos(angle) + (0.0 if bars.even else np.sin(2 * angle)))


def on_cloth(place: Placement, point: FloatArray) -> FloatArray:
    turned = laid_outline(point[np.newaxis], place.rotation_deg, place.mirrored)[0]
    return np.asarray([turned[0] + place.x_mm, turned[1] + place.y_mm])


def seen(checked: CheckedLayout, axis: Axis, place: Placement, point: FloatArray) -> list[float]:
    """Colours at a point and at four places around it on the body, where up and right are what they
    are on a piece that lies unturned, whatever its hand."""
    bars = checked.layout.cloth.repeat.on(axis)
    at = on_cloth(place, point)[list(Axis).index(axis)]
    way = -1 if place.rotation_deg % 360 == 180 else 1
    return [wave(bars, at + way * step) for step in (0.0, 4.0, -4.0, 9.0, -9.0)]


def pairs(checked: CheckedLayout) -> Iterator[tuple[str, list[tuple[Placement, MatchPoint]]]]:
    """(name, all points that meet there) of each match and side of each garment. On one side are
    worn front and sleeve as drawn, on the other their mirrored copies and the back's drawn half."""
    pieces = {piece.name: piece for piece in checked.cut_pieces}
    for garment in range(1, len(checked.garments) + 1):
        groups: dict[tuple[str, bool], list[tuple[Placement, MatchPoint]]] = {}
        for place in checked.layout.placements:
            if place.garment != garment:
                continue
            piece = pieces[place.piece]
            for point in piece.match_points:
                name = point.match.name
                left = place.mirrored
                if place.piece == "back":
                    assert piece.fold_line is not None
                    left = bool(point.point[1] < piece.fold_line[0, 1])
                if name == "centre":
                    left = False
                groups.setdefault((name, left), []).append((place, point))
        for (name, _), found in groups.items():
            yield name, found


@pytest.mark.parametrize("seed", range(JOBS))
def test_points_that_meet_show_the_same_colours(seed: int) -> None:
    checked = matched(seed)
    assert codes(checked, checked.layout) == set()
    looked_at = set()
    for name, found in pairs(checked):
        for axis in found[0][1].match.axes:
            colours = [seen(checked, axis, place, point.point) for place, point in found]
            assert np.ptp(colours, axis=0).max() < 1e-3
            looked_at.add((name, len(found)))
    assert ("armhole", 2) in looked_at


def test_uneven_plaids_lie_one_way_and_even_ones_either_way() -> None:
    turned: dict[bool, set[float]] = {True: set(), False: set()}
    for seed in range(JOBS):
        layout = matched(seed).layout
        tied = [place for place in layout.placements if place.piece in ("front", "sleeve")]
        turned[layout.cloth.repeat.one_way] |= {place.rotation_deg for place in tied}
    assert turned == {True: {0.0}, False: {0.0, 180.0}}


@pytest.mark.parametrize("seed", range(JOBS))
def test_matching_never_comes_for_less_than_nothing(seed: int) -> None:
    layout = matched(seed).layout
    assert layout.unmatched_mm is not None
    assert 0 < layout.unmatched_mm <= layout.length_mm
    assert layout.matching_mm == layout.length_mm - layout.unmatched_mm


@pytest.mark.parametrize("seed", range(JOBS))
@pytest.mark.parametrize("off_mm", [0.8, 1.3])
def test_the_judge_sees_a_sleeve_that_slipped(seed: int, off_mm: float) -> None:
    """By more than 1 mm on an axis on which it is matched."""
    checked = matched(seed)
    axes = checked.layout.cloth.repeat.axes
    slip = (off_mm if Axis.ALONG in axes else 0.0), (off_mm if Axis.ACROSS in axes else 0.0)
    spoiled = tuple(
        moved(place, *slip) if (place.piece, place.copy) == ("sleeve", 1) else place
        for place in checked.layout.placements
    )
    found = findings(
        replace(checked.layout, placements=spoiled), checked.cut_pieces, checked.garments
    )
    missed = [each for each in found if each.code is Code.MATCH]
    assert bool(missed) == (off_mm > 1)
    for each in missed:
        assert each.message.startswith("armhole: their points lie 1.3")
        assert any(who.startswith("sleeve") for who in each.pieces)


def test_the_judge_sees_a_piece_turned_on_an_uneven_repeat_and_a_place_not_kept() -> None:
    seed = next(seed for seed in range(JOBS) if matched(seed).layout.cloth.repeat.one_way)
    checked = matched(seed)
    placements = list(checked.layout.placements)
    k = next(k for k, place in enumerate(placements) if place.piece == "sleeve")
    placements[k] = replace(placements[k], rotation_deg=180.0)
    layout = replace(checked.layout, placements=tuple(placements))
    said = [each.message for each in findings(layout, checked.cut_pieces, checked.garments)]
    assert "armhole: they point opposite ways on an uneven repeat" in said


def bordered(side: Side) -> Job:
    """A skirt front, its hem on the border, cut crosswise; a pair so that both hands are there."""
    cloth = Cloth("print", 1200, repeat=Repeat(Bars(80)), border=Border(side, 50.0))
    skirt = replace(
        body("skirt", 260, on_fold=False), cloth="print", border="hem", turns=(90.0, 270.0)
    )
    return Job("choir skirt", "38", (Pattern("38", (skirt,)),), (cloth,), {"38": 1})


@pytest.mark.parametrize("side", list(Side))
def test_hems_lie_on_the_border(side: Side) -> None:
    (task,) = tasks(bordered(side))
    checked = lay_task(task, SearchLimits(iterations=0, workers=1), unheard)
    assert checked.layout.unmatched_mm is None
    line = 50 if side is Side.NEAR else 1150
    for place in checked.layout.placements:
        ends = task.load.cut_pieces[0].border
        assert ends is not None
        ys = [on_cloth(place, end)[1] for end in ends]
        assert ys == pytest.approx([line, line])
        # the hem's allowance of 15 mm reaches towards the selvage
        low, high = place.outline_mm[:, 1].min(), place.outline_mm[:, 1].max()
        assert low == pytest.approx(35) if side is Side.NEAR else high == pytest.approx(1165)
    slipped = tuple(moved(place, 0, 1.2) for place in checked.layout.placements)
    assert codes(checked, replace(checked.layout, placements=slipped)) == {Code.BORDER}


def along_only(across: Bars | None = None) -> Job:
    return tunic(plaid(Bars(110, 30), across))


@pytest.mark.parametrize("spreading", [Spreading.FOLDED_LENGTHWISE, Spreading.DOUBLE_FOLD])
def test_bars_pinned_on_bars_match_on_cloth_folded_lengthwise(spreading: Spreading) -> None:
    task = spread(loads(along_only())[0], spreading)
    checked = lay_task(task, SearchLimits(iterations=0, workers=1), unheard)
    assert checked.layout.spread.spreading is spreading
    assert checked.layout.spread.two_ply_mm > 0
    assert checked.layout.unmatched_mm is not None
    assert 0 < checked.layout.unmatched_mm <= checked.layout.length_mm
    for _, found in pairs(checked):
        colours = [seen(checked, Axis.ALONG, place, point.point) for place, point in found]
        assert np.ptp(colours, axis=0).max() < 1e-3


@pytest.mark.parametrize(
    ("across", "spreading", "problem"),
    [
        (Bars(90), Spreading.FOLDED_LENGTHWISE, "matched across it"),
        (None, Spreading.FOLDED_CROSSWISE, "runs back on the ply below"),
        (None, Spreading.CUT_AND_TURNED, "runs back on the ply below"),
    ],
)
def test_spreads_that_a_match_forbids(
    across: Bars | None, spreading: Spreading, problem: str
) -> None:
    (load,) = loads(along_only(across))
    with pytest.raises(CannotBeDone, match=problem):
        spread(load, spreading)


def test_a_border_needs_a_turn_room_and_a_straight_edge() -> None:
    job = bordered(Side.NEAR)
    (skirt,), (cloth,) = job.pattern.pieces, job.cloths
    upright = job.with_pieces(lambda piece: replace(piece, turns=(0.0, 180.0)))
    with pytest.raises(CannotBeDone, match="lies along the cloth when the piece is turned 90°"):
        tasks(upright)
    narrow = replace(job, cloths=(replace(cloth, border=Border(Side.NEAR, 10.0)),))
    with pytest.raises(CannotBeDone, match="reaches 5 mm over the edge of print"):
        tasks(narrow)
    bent = np.insert(skirt.outline, 1, [130.0, -4.0], axis=0)
    edges = {"hem": Edge(0, 2)}
    job = job.with_pieces(lambda piece: replace(piece, outline=bent, edges=edges))
    with pytest.raises(CannotBeDone, match="edge 'hem' cannot lie on a border"):
        tasks(job)


def test_a_piece_without_a_place_across_says_how_far_to_move_it() -> None:
    """A back 570 mm wide with allowances on 600 mm: its fold may move by 15 mm either way from the
    middle, and repeats of 590 mm begin at the near edge."""
    job = tunic(plaid(None, Bars(590), width_mm=600))
    placed = replace(
        job.pattern.matches[0], places=(at("back", "hem", Spot.START),), axes=(Axis.ACROSS,)
    )
    back = Pattern("38", job.pattern.pieces[1:2], matches=(placed,))
    job = replace(job, patterns=(back,))
    with pytest.raises(
        CannotBeDone, match=r"back finds no place across plaid: .* over the far one"
    ):
        tasks(job)
    given = replace(back, matches=(replace(placed, at_mm={Axis.ACROSS: 300.0}),))
    tasks(replace(job, patterns=(given,)))
