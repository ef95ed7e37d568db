"""What makes a job fit: small jobs whose answers follow from arithmetic."""

from __future__ import annotations

from dataclasses import replace
from threading import Event

import pytest

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth, Nap
from marker.job import Job
from marker.pattern.bands.strip import CutLength, Interfacing, Strip
from marker.pattern.edge import Edge, Hem, HemKind, Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.planning.changes import changes
from marker.planning.events import unheard
from marker.planning.limits import SearchLimits
from marker.planning.shortage import ShortageResult, remedy_shortage
from marker.reports.facts import to_json
from marker.reports.shortage import shortage_lines, shortage_report
from marker.units import Show, System
from tests.helpers import SIZE, cloth
from tests.shapes import polygon, rectangle

CORNER = polygon((0, 0), (400, 0), (0, 300))


def job(on: Cloth, *parts: Piece | Strip) -> Job:
    pieces = tuple(part for part in parts if isinstance(part, Piece))
    strips = tuple(part for part in parts if isinstance(part, Strip))
    return Job("choir dress", SIZE, (Pattern(SIZE, pieces, strips),), (on,), {SIZE: 1})


def shortage(
    short: Job, have: float, stopped: bool = False, keep_nap: bool = False
) -> ShortageResult:
    on = replace(short.cloths[0], have_mm=have)
    stop = Event()
    if stopped:
        stop.set()
    limits = SearchLimits(iterations=3, workers=1, stopped=stop)
    return remedy_shortage(short, on, limits, unheard, keep_nap)


def said(found: ShortageResult) -> list[str]:
    return [str(change.edit) for change in found.best.changes]


def belt(name: str, width: float) -> Strip:
    return Strip(name, "jersey", width, CutLength(600.0), direction=Direction.LENGTHGRAIN)


def test_what_fits_needs_no_change() -> None:
    found = shortage(
        job(cloth(300), Piece("front", "jersey", rectangle(200, 300), grain_deg=0)), 200
    )
    assert found.fits
    assert (found.singles, found.best.changes) == ((), ())


def test_two_corners_nest_once_the_nap_is_given_up() -> None:
    """Right-angled triangles of 400 × 300 on 300 mm: end to end 800, turned about one rectangle."""
    pennant = Piece("pennant", "jersey", CORNER, cut=2, grain_deg=0)
    found = shortage(job(cloth(300, Nap.ONE_WAY), pennant), 450)
    assert said(found) == ['[cloth.jersey] nap = "either way"']
    assert found.base.length_mm == pytest.approx(800, abs=0.1)
    assert found.base.bound_mm > 450
    assert found.best.length_mm == pytest.approx(400, abs=0.1)
    report = shortage_report(found)
    facts = to_json(report)
    assert facts["as_it_is"]["cannot_fit"]
    assert facts["changes"][0]["saves_mm"] == pytest.approx(400, abs=0.5)
    lines = "\n".join(shortage_lines(report))
    assert "It fits, with 50 mm" in lines
    assert "short by 35 cm (13 3/4 in), impossible" in lines


def hemmed() -> Piece:
    """Two right-angled triangles, 400 mm along and 300 across, hemmed on the side across."""
    hem = Edge(2, 0, hem=Hem.usual(HemKind.TURNED_ONCE))
    return Piece("pennant", "jersey", CORNER, cut=2, grain_deg=0, edges={"hem": hem})


def test_the_nap_is_given_up_last() -> None:
    """End to end both take 800; 20 mm shorter at the hem they take 760, turned against the nap 400.
    Where 770 are there, the hem is enough, though the nap saves more."""
    found = shortage(job(cloth(300, Nap.ONE_WAY), hemmed()), 770)
    assert said(found) == ['[[piece]] pennant: shorten.hem = "20 mm"']
    assert str(found.singles[0].changes[0].edit) == '[cloth.jersey] nap = "either way"'
    assert "lighter and darker" in found.singles[0].changes[0].what


def test_the_nap_may_be_kept() -> None:
    found = shortage(job(cloth(300, Nap.ONE_WAY), hemmed()), 450, keep_nap=True)
    assert not found.fits
    assert not [trial for trial in found.singles if "nap" in str(trial.changes[0].edit)]


def test_a_seam_in_place_of_the_fold_makes_a_wide_piece_narrow_enough() -> None:
    """Half of 100 × 300 on the fold: 200 mm wide on 150 mm of cloth; two halves of 110 behind
    each other take 600."""
    half = polygon((0, 0), (300, 0), (300, 100), (0, 100))
    back = Piece("back", "jersey", half, fold=Stretch(0, 1), grain_deg=0)
    found = shortage(job(cloth(150), back), 600)
    assert found.base.checked is None
    assert "across" in found.base.reason
    assert said(found) == ['[[piece]] back: fold_seam = "10 mm"']
    assert found.best.length_mm == pytest.approx(600, abs=0.1)


def test_a_job_in_inches_gets_its_seam_in_inches() -> None:
    """A seam of 5/8 in, as its other edges have, is 15.875 mm; one of no width given is 3/8 in."""
    half = polygon((0, 0), (300, 0), (300, 100), (0, 100))
    back = Piece("back", "jersey", half, fold=Stretch(0, 1), grain_deg=0)
    in_inches = Show(lead=System.IMPERIAL)
    for allowance, seam in ((15.875, "5/8 in"), (0.0, "3/8 in")):
        cut = replace(job(cloth(150), replace(back, allowance_mm=allowance)), show=in_inches)
        found = shortage(cut, 900)
        (change,) = found.best.changes
        assert str(change.edit) == f'[[piece]] back: fold_seam = "{seam}"'
        assert f"with a seam of {seam} in place of the fold" in change.what


def test_changes_that_save_nothing_alone_are_found_together() -> None:
    """Two belts of 600 × 100 on 400 mm: both must be joined, from parts of (600 + 20)/2 = 310."""
    found = shortage(job(cloth(400), belt("belt", 100), belt("sash", 100)), 320)
    assert sorted(said(found)) == ["[[strip]] belt: parts = 2", "[[strip]] sash: parts = 2"]
    assert found.best.length_mm == pytest.approx(310, abs=0.1)
    assert all(trial.saves_nothing(found.base) for trial in found.singles)


def test_a_band_is_not_cut_from_what_stiffens_it() -> None:
    band = replace(belt("belt", 100), interfacing=Interfacing("fusible", 5.0))
    others = (replace(cloth(300), name="fusible"), replace(cloth(300), name="lining"))
    short = job(cloth(300), band)
    found = changes(replace(short, cloths=(*short.cloths, *others)), short.cloths[0])
    whats = [change.what for change in found]
    assert "cut belt from lining, which needs more of that" in whats
    assert not any("fusible" in what for what in whats)


def test_what_cannot_fit_is_said_with_the_nearest() -> None:
    """A belt in two parts on cloth of its own width: 620 in place of 600, so nothing helps."""
    found = shortage(job(cloth(100), belt("belt", 100)), 500)
    assert not found.fits
    assert said(found) == []
    report = shortage_report(found)
    assert to_json(report)["changes"][0]["saves_mm"] == pytest.approx(-20, abs=0.5)
    assert "parts" not in "\n".join(shortage_lines(report)), "what costs cloth is not listed"


def test_a_hem_is_made_narrower_on_all_pieces_that_it_runs_over() -> None:
    hem = Edge(3, 0, hem=Hem.usual(HemKind.TURNED_ONCE))
    parts = [
        Piece(name, "jersey", rectangle(300, 200), grain_deg=0, line=Line.STITCHING,
              edges={"hem": hem})
        for name in ("front", "back")
    ]  # fmt: skip
    found = shortage(job(cloth(400), *parts), 316)
    assert found.base.length_mm == pytest.approx(330, abs=0.1)
    (edit,) = said(found)
    assert edit.startswith(
        '[[piece]] front, back: hems.hem = { kind = "turned once", depth = "15 mm"'
    )
    assert found.best.length_mm == pytest.approx(315, abs=0.1)


def test_ctrl_c_keeps_what_was_found() -> None:
    pennant = Piece("pennant", "jersey", CORNER, cut=2, grain_deg=0)
    found = shortage(job(cloth(300, Nap.ONE_WAY), pennant), 450, stopped=True)
    assert found.best is found.base
    assert found.base.checked is not None
