"""Pieces alone never need more than with their strips."""

from __future__ import annotations

import pytest

from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.layout import CheckedLayout
from marker.pattern.bands.strip import CutLength, Strip
from marker.pattern.bands.strip_layout import strip_layout
from marker.pattern.bands.strip_plan import strip_plans
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.planning import one_cloth
from marker.planning import strips as strip_costs
from marker.planning.events import unheard
from marker.planning.limits import SearchLimits
from marker.planning.tasks import LayingTask
from tests.helpers import layout, place
from tests.shapes import rectangle

JERSEY = Cloth("jersey", 500)
PANEL = Piece("panel", "jersey", rectangle(400, 600), cut=2)
BELT = Strip("belt", "jersey", 50, CutLength(300))
JOB = Job("choir dress", "38", (Pattern("38", (PANEL,), (BELT,)),), (JERSEY,), {"38": 1})


def end_to_end(task: LayingTask, *_: object) -> CheckedLayout:
    """The pieces after one another; without the belt, badly: 100 mm apart."""
    apart = 0.0 if len(task.load.items) > 2 else 100.0
    placements, x = [], 0.0
    for item in task.load.items:
        put = place(item.piece, x, 0, copy=item.copy)
        placements.append(put)
        x = float(put.outline_mm[:, 0].max()) + apart
    return task.checked(layout(placements, task.cloth))


def test_a_worse_layout_without_the_strips_is_not_held_against_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two panels of 600 mm and a belt of 50 mm across: 1250 mm together, 1200 mm without it."""
    monkeypatch.setattr(one_cloth, "lay_task", end_to_end)
    alone = strip_layout(strip_plans(JOB.pattern, [JERSEY]), JERSEY, 1)
    (cost,) = strip_costs.strip_costs(JOB, [alone], SearchLimits(1.0), unheard)
    assert (cost.among_mm, cost.pieces_mm, cost.strips_mm) == pytest.approx((1250, 1200, 50))
    assert cost.saved_mm == pytest.approx(0)
