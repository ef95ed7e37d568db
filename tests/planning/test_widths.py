"""A job on several widths: wider cloth never needs more, short as the searches are."""

from __future__ import annotations

from dataclasses import replace
from threading import Event

import numpy as np
import pytest

from marker import judge
from marker.cloth.behaviour import Cut, Shrinkage
from marker.cloth.fabric import Cloth, Price
from marker.cloth.stock import Flaw, Remnant
from marker.cloth.width_chart import WIDTHS_IN
from marker.errors import CannotBeDone
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout, Placement
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.planning import widths as shopping
from marker.planning.events import PlanningEvent, SearchProgressed, unheard
from marker.planning.limits import SearchLimits
from marker.planning.tasks import LayingTask
from marker.planning.widths import WidthsResult, compare_widths, main_cloth
from tests.helpers import layout, place
from tests.pieces.garments import PIECES
from tests.planning.test_random_jobs import random_job
from tests.planning.width_chart import LEAST, MOST
from tests.random_layouts import moved
from tests.shapes import rectangle

FEW = SearchLimits(iterations=0, workers=1)


def bought(job: Job, *widths: float, limits: SearchLimits = FEW) -> WidthsResult:
    main = main_cloth(job)
    cloths = [replace(main, width_mm=width) for width in widths]
    return compare_widths(job, cloths, limits, unheard)


def assert_sound(found: WidthsResult) -> None:
    """Lengths never rise with the width, and each layout passes the judge once more."""
    lengths = [each.checked.layout.length_mm for each in found.widths]
    assert lengths == sorted(lengths, reverse=True)
    for each in found.widths:
        checked = each.checked
        assert judge.findings(checked.layout, checked.cut_pieces, checked.garments) == ()
        assert each.purchase.layout_mm == checked.layout.length_mm


@pytest.mark.parametrize("garment", ["choir-dress", "pinafore"])
def test_wider_cloth_never_needs_more_for_a_garment(garment: str) -> None:
    found = bought(read_job(PIECES / garment / "job.toml"), 1500, 1450)
    assert [each.width_mm for each in found.widths] == [1450, 1500]
    assert_sound(found)


def test_the_shirt_stays_within_the_printed_charts_spread() -> None:
    """A garment of 20 mixed pieces from 35.5 to 59 in; `benchmarks.widths` has all its widths."""
    job = read_job(PIECES / "shirt" / "job.toml")
    once = replace(FEW, iterations=1)
    found = bought(job, *(25.4 * width for width in (WIDTHS_IN[0], WIDTHS_IN[-2])), limits=once)
    assert_sound(found)
    narrow, wide = (each.width_mm * each.checked.layout.length_mm for each in found.widths)
    assert LEAST <= wide / narrow <= MOST


def test_wider_cloth_never_needs_more_for_random_jobs() -> None:
    for seed in range(3):
        job = random_job(np.random.default_rng(seed))
        width = main_cloth(job).width_mm
        assert_sound(bought(job, width, width + 15))


def laid_at_random(task: LayingTask, rng: np.random.Generator) -> CheckedLayout:
    """Its pieces in rows across the cloth, each begun at random or when the last one is full."""
    placements: list[Placement] = []
    x = y = end = 0.0
    for item in task.load.items:
        piece = item.piece
        put = place(
            piece, x, y, rotation_deg=piece.turns[0], mirrored=item.mirrored,
            garment=item.garment, copy=item.copy,
        )  # fmt: skip
        high = float(np.ptp(put.outline_mm[:, 1]))
        if y + high > task.cloth.usable_width_mm or rng.random() < 0.3:
            put = moved(put, end + task.cloth.gap_mm - x, -y)
            x, y = end + task.cloth.gap_mm, 0.0
        y += high + task.cloth.gap_mm
        end = max(end, float(put.outline_mm[:, 0].max()))
        placements.append(put)
    return task.checked(layout(placements, task.cloth))


def test_wider_cloth_never_needs_more_however_bad_its_own_layout(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Random layouts in place of searched ones: on every other width a narrower one's is better."""
    rng = np.random.default_rng(0)
    monkeypatch.setattr(shopping, "lay_task", lambda task, *_: laid_at_random(task, rng))
    carried = 0
    for seed in range(15):
        job = random_job(np.random.default_rng(seed))
        width = main_cloth(job).width_mm
        found = bought(job, *(width + 40 * k for k in range(4)))
        assert_sound(found)
        carried += sum(each.is_carried for each in found.widths)
    assert carried > 10


def panels(*cloths: Cloth, pieces: int = 1) -> Job:
    """A panel of 400 × 600 mm for each cloth, its grain along the 600."""
    panel = Piece("panel", cloths[0].name, rectangle(400, 600), cut=pieces)
    every = tuple(replace(panel, name=c.name, cloth=c.name, cut=pieces) for c in cloths)
    return Job("choir dress", "38", (Pattern("38", every),), cloths, {"38": 1})


SELF = Cloth("crepe", 900, price=Price(10, 1000, "EUR"))
LINING = Cloth("lining", 500, price=Price(4, 1000, "EUR"))


def test_each_cloth_is_bought_and_the_job_totalled() -> None:
    """Two panels of each: 1200 mm on cloth that holds one across, 600 mm where it holds two."""
    found = bought(panels(SELF, LINING, pieces=2), 500, 900)
    assert [each.purchase.buy_mm for each in found.widths] == pytest.approx([1200, 600])
    assert [each.purchase.cost for each in found.widths] == [12.0, 6.0]
    assert found.cheapest == 1
    assert [each.purchase.cost for each in found.others] == [4.8]
    assert found.totals == {"EUR": 10.8}
    assert found.unpriced == ()


def test_a_price_of_its_own_may_make_the_narrower_width_the_cheapest() -> None:
    dear = replace(SELF, price=Price(25, 1000, "EUR"))
    cloths = [replace(SELF, width_mm=500), replace(dear, width_mm=900)]
    found = compare_widths(panels(SELF, pieces=2), cloths, FEW, unheard)
    assert [each.purchase.cost for each in found.widths] == [12.0, 15.0]
    assert found.cheapest == 0


def test_without_prices_the_least_area_is_cheapest() -> None:
    """1.2 m of 0.5 m are 0.6 m², 0.6 m of 1.2 m are 0.72 m² (arithmetic)."""
    bare = replace(SELF, price=None)
    found = bought(panels(bare, LINING, pieces=2), 500, 1200)
    assert [each.area_mm2 for each in found.widths] == pytest.approx([0.6e6, 0.72e6])
    assert (found.by_cost, found.cheapest) == (False, 0)
    assert found.totals == {"EUR": 4.8}
    assert found.unpriced == ("crepe",)


def test_a_width_that_a_piece_does_not_fit_is_left_out_with_its_reason() -> None:
    found = bought(panels(SELF), 390, 900)
    (left,) = found.left_out
    assert left.width_mm == 390
    assert "crepe needs 40 cm" in left.reason
    assert len(found.widths) == 1


def test_no_width_is_enough() -> None:
    with pytest.raises(CannotBeDone, match=r"none of the widths asked for:\n  20 cm: .*\n  39 cm"):
        bought(panels(SELF), 390, 200)


@pytest.mark.parametrize(
    ("cut", "usable_mm", "layout_mm", "needed_mm"),
    [
        (Cut.AFTER_WASHING, 900 * 0.97, 600, 600 / 0.95),
        (Cut.BEFORE_WASHING, 900, 600 / 0.95, 600 / 0.95),
    ],
)
def test_shrinkage_on_every_width(
    cut: Cut, usable_mm: float, layout_mm: float, needed_mm: float
) -> None:
    """One panel is 600 mm along; 5 % lost along, 3 % across, in the cloth or in the piece."""
    cloth = replace(SELF, shrinkage=Shrinkage(0.05, 0.03, cut))
    (each,) = bought(panels(cloth), 900).widths
    assert each.checked.layout.cloth.usable_width_mm == pytest.approx(usable_mm)
    assert each.purchase.layout_mm == pytest.approx(layout_mm, abs=0.01)
    assert each.purchase.needed_mm == pytest.approx(needed_mm, abs=0.01)


def test_new_cloth_has_no_flaws_and_any_length() -> None:
    worn = replace(LINING, have_mm=300, flaws=(Flaw("hole", rectangle(100, 100)),))
    (each,) = bought(panels(SELF, worn), 900).others
    cloth = each.checked.layout.cloth
    assert (cloth.flaws, cloth.have_mm) == ((), None)
    assert each.purchase.buy_mm == pytest.approx(600)


def test_remnants_are_not_bought() -> None:
    rest = replace(LINING, remnants=(Remnant("rest", rectangle(300, 500)),))
    with pytest.raises(CannotBeDone, match="lining is remnants"):
        bought(panels(SELF, rest), 900)


def test_stopped_by_hand_it_keeps_what_was_found() -> None:
    limits = SearchLimits(iterations=5, workers=1, stopped=(stopped := Event()))
    job = panels(SELF, LINING, pieces=3)

    def stop(event: PlanningEvent) -> None:
        if isinstance(event, SearchProgressed) and event.about == "crepe 90 cm":
            stopped.set()

    cloths = [replace(SELF, width_mm=width) for width in (500, 900, 1300)]
    found = compare_widths(job, cloths, limits, stop)
    assert [each.width_mm for each in found.widths] == [500, 900]
    assert [(left.width_mm, left.reason) for left in found.left_out] == [(1300, "stopped by hand")]
    assert (found.others, found.not_laid) == ((), ("lining",))
