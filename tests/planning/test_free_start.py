"""What is matched along a cloth to be bought may start on any place of its repeat."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from marker import judge
from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis, Bars, Repeat
from marker.exchange.layout_json import layout_text, read_layout
from marker.exchange.layout_tables import LayoutTable
from marker.job import Job
from marker.layout import CheckedLayout
from marker.layout.bought import purchase_for
from marker.pattern.edge import Edge, EdgeRef
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.repeats.match import Match, MatchPlace
from marker.pattern.seams.sewing import Place
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import tasks
from tests.shapes import rectangle

PLAID = Cloth("plaid", 300, repeat=Repeat(along=Bars(120, fixed=False)), sold_by_mm=10)


def side(piece: str, at_mm: float) -> MatchPlace:
    return MatchPlace(Place(EdgeRef(piece, "side"), at_mm))


def job(cloth: Cloth = PLAID, **changes: object) -> Job:
    """Two squares of 100 mm that fit beside each other, matched 30 mm up their side seam."""
    pieces = (
        Piece("front", "plaid", rectangle(100, 100), edges={"side": Edge(1, 2)}),
        Piece("back", "plaid", rectangle(100, 100), edges={"side": Edge(3, 0)}),
    )
    match = Match("side", 1, (side("front", 30.0), side("back", 70.0)), (Axis.ALONG,))
    held = replace(match, **changes)  # type: ignore[arg-type]
    return Job("tunic", "38", (Pattern("38", pieces, matches=(held,)),), (cloth,), {"38": 1})


def laid(of: Job) -> CheckedLayout:
    (task,) = tasks(of)
    return lay_task(task, SearchLimits(iterations=4, workers=1), lambda _: None)


def test_nothing_is_charged_that_nobody_asked_for() -> None:
    """Both squares begin on the start line. Their points lie 30 or, laid the other way, 70 mm from
    it, where a repeat begins: it is as long as without the match."""
    checked = laid(job())
    layout = checked.layout
    assert layout.length_mm == pytest.approx(100, abs=0.02)
    assert layout.matching_mm == pytest.approx(0, abs=0.02)
    assert layout.length_lower_bound_mm == pytest.approx(100, abs=0.02)
    along = layout.cloth.repeat.along
    assert along is not None
    assert min(abs(along.begins_mm - at) for at in (30, 70)) < 0.05


@pytest.mark.parametrize(
    "tied",
    [
        job(replace(PLAID, repeat=Repeat(along=Bars(120, 10)))),
        job(at_mm={Axis.ALONG: 20.0}),
        job(replace(PLAID, have_mm=500.0)),
    ],
)
def test_what_a_place_on_the_cloth_ties_stays_tied(tied: Job) -> None:
    """Where the repeat begins is given, or where in it a point lies, or the cloth is there already:
    the squares start where that says, behind the start line."""
    assert laid(tied).layout.length_mm > 105


def test_it_is_bought_for_the_worst_cut_end() -> None:
    """100 mm and a repeat of 120, or 100 where the shop cuts in the right place."""
    bought = purchase_for(laid(job()))
    assert (bought.repeat_mm, bought.buy_mm) == pytest.approx((120, 220))
    assert bought.cut_in_place_mm == pytest.approx(100)


def test_a_stored_layout_knows_where_it_starts(tmp_path: Path) -> None:
    made = job()
    checked = laid(made)
    path = tmp_path / "layout.json"
    table = LayoutTable.of(checked, purchase_for(checked))
    path.write_text(layout_text(table, path, tmp_path / "job.toml", made))
    again = read_layout(path).layout(made)
    along, stored = checked.layout.cloth.repeat.along, again.cloth.repeat.along
    assert along is not None
    assert stored is not None
    assert stored.begins_mm == pytest.approx(along.begins_mm, abs=1e-3)
    assert judge.findings(again, checked.cut_pieces, checked.garments) == ()
