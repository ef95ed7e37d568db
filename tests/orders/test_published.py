"""The planner reaches the published optima of `published`, and proves them."""

from __future__ import annotations

import pytest

from marker.orders.budget import Budget
from marker.orders.feasible import plan_or_nearest
from tests.orders.published import PUBLISHED, Published
from tests.orders.sound import assert_sound


@pytest.mark.parametrize("known", PUBLISHED, ids=lambda known: known.name)
def test_published_optimum(known: Published) -> None:
    plan = plan_or_nearest(known.order, known.limits, known.aim, None, Budget(effort=20))
    assert_sound(plan.lays, known.order, known.limits)
    first = plan.tiers[0]
    assert (first.value, first.bound) == (known.best, known.best)
    assert plan.optimal
