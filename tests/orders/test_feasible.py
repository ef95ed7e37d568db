"""Orders that cannot be planned as asked: the reason, and the nearest plans."""

from __future__ import annotations

from dataclasses import replace

import pytest

from marker.orders.budget import Budget
from marker.orders.feasible import NoPlan, plan_or_nearest
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Limits
from marker.orders.planning import Aim
from tests.orders.published import THIRD, one_colour
from tests.orders.sound import assert_sound


def refused(order: CutOrder, limits: Limits, lengths: Lengths | None = None) -> NoPlan:
    with pytest.raises(NoPlan) as caught:
        plan_or_nearest(order, limits, Aim.FEWEST_PLIES, lengths, Budget(effort=5))
    return caught.value


def test_an_exact_order_that_so_few_markers_cannot_cut() -> None:
    # plies must divide both 3 and 5, so 1 ply, and 8 garments do not fit
    order, limits = one_colour({"S": 3, "M": 5}), Limits(5, max_markers=1)
    problem = refused(order, limits)
    assert "at most 1 marker, each of at most 5 garments, cuts the order exactly" in str(problem)
    assert "proven" in str(problem)
    over, more = problem.nearest
    assert_sound(over.lays, replace(order, over_cut=None), limits)
    assert "1 garment beyond" in over.how  # S + 2 M on 3 plies
    assert sum(lay.cut for lay in over.lays) == 9
    assert_sound(more.lays, order, Limits(5))
    assert len(more.lays) == 2


def test_too_few_markers_for_any_plan() -> None:
    # 3 lays of 75 plies and 5 garments cut 1125 of 1300
    problem = refused(THIRD, Limits(5, 75, 3))
    (more,) = problem.nearest
    assert len(more.lays) == 4


def test_a_garment_longer_than_the_table() -> None:
    lengths = Lengths(100, {"S": 800, "M": 950}, end_loss_mm=30)
    order = one_colour({"S": 1, "M": 1})
    problem = refused(order, Limits(4, max_markers=1, table_mm=1079), lengths)
    assert "size M takes 1.08 m, ends included, and the table has 1.079 m" in str(problem)
    (nearest,) = problem.nearest
    assert nearest.how == "has a table of 1.08 m, and as many markers as it takes"
    assert_sound(nearest.lays, order, Limits(4, table_mm=1080), lengths)


def test_time_up_is_not_called_proven() -> None:
    order = one_colour({"S": 29, "M": 17, "L": 7})
    with pytest.raises(NoPlan, match="time was up"):
        plan_or_nearest(order, Limits(4, 20, 2), Aim.FEWEST_PLIES, None, Budget(seconds=0))
