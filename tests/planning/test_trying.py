"""What a search is trying, while it tries it."""

from __future__ import annotations

from functools import partial

import pytest

from marker.cloth.spread import Spreading
from marker.drawing.scene.layout_scene import build_scene
from marker.layout.bought import purchase_for
from marker.placement.stop import Progress
from marker.planning.events import (
    BetterLayoutFound,
    PlanningEvent,
    SearchProgressed,
    Trying,
    trying_on,
)
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from tests.planning.test_by_hand import ON_FOLD, PIECES, job, task_of


@pytest.mark.parametrize(
    "spreading", [Spreading.OPEN, Spreading.FOLDED_LENGTHWISE, Spreading.FOLDED_CROSSWISE]
)
def test_what_is_tried_is_drawn_where_the_layout_will_lie(spreading: Spreading) -> None:
    pieces = PIECES if spreading is Spreading.FOLDED_CROSSWISE else (*PIECES, ON_FOLD)
    task = task_of(job(*pieces, gap=4.0), spreading)
    told: list[PlanningEvent] = []
    lay_task(task, SearchLimits(iterations=3, workers=1), told.append)
    found = [each for each in told if isinstance(each, BetterLayoutFound)][-1]
    tried: list[list[float]] = []
    for stretch, part in enumerate(found.arranged):
        now = partial(tuple, part.arrangement)
        progress = Progress(0, 0, 0, 0, 0, part.problem, part.arrangement, now)
        done = [each.length_mm for each in found.arranged[:stretch]]
        trying = trying_on(tuple(each.stretch for each in found.arranged), done, progress)
        assert trying is not None
        for x, y, shape in trying.places():
            box = trying.problem.shapes[int(shape)] + [x, y]
            tried.append([*box.min(axis=0), *box.max(axis=0)])
    checked = found.checked()
    drawn = [
        [*piece.outline.min(axis=0) - 2.0, *piece.outline.max(axis=0) + 2.0]  # half of the gap
        for piece in build_scene(checked, purchase_for(checked)).pieces
    ]
    assert sorted(map(tuple, tried)) == [
        pytest.approx(box, abs=2.5) for box in sorted(map(tuple, drawn))
    ]


def test_it_is_told_while_the_search_goes_on() -> None:
    seen: list[Trying] = []

    def watch(event: PlanningEvent) -> None:
        if isinstance(event, SearchProgressed) and event.trying:
            seen.append(event.trying)
            assert event.trying.places().shape == (len(event.trying.problem.items), 3)

    lay_task(task_of(job(*PIECES)), SearchLimits(iterations=3, workers=1), watch)
    assert seen
