"""The whole solution: repeatable, anytime, within the rules; bounds and stop rules by hand."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Event

import numpy as np
import pytest

from marker.layout import Ending
from marker.placement.exact import bounds
from marker.placement.params import DEFAULT, PlacementParams
from marker.placement.problem.statement import (
    Arrangement,
    Item,
    Orientation,
    PlacementProblem,
    Position,
    strip_length,
)
from marker.placement.search.first_layouts import FirstLayouts, Ordering
from marker.placement.search.strategy import Search
from marker.placement.solve import Result, solve
from marker.placement.stop import (
    Progress,
    Stop,
    Verdict,
    after_iterations,
    after_seconds,
    at_bound,
    first_of,
    when_set,
)
from marker.placement.warming import warm_up_first_layouts
from tests.placement.arrangements import cast_problem, is_free
from tests.placement.problems import problem
from tests.shapes import CAST, rectangle

NAMES = ("cup", "star", "ell", "notched", "triangle", "half disc", "parallelogram") * 2


def run(
    given: PlacementProblem,
    iterations: int,
    seed: int = 0,
    workers: int = 2,
    params: PlacementParams = DEFAULT,
) -> tuple[Result, list[Progress]]:
    told: list[Progress] = []
    stop = first_of(at_bound(), after_iterations(iterations))
    return solve(given, stop, seed, workers, told.append, params), told


@pytest.mark.parametrize("workers", [1, 2])
def test_the_same_seed_gives_the_same_arrangement(workers: int) -> None:
    given = cast_problem(NAMES, 500.0)
    first, second = (run(given, 4, 3, workers)[0] for _ in range(2))
    assert first.arrangement == second.arrangement
    assert (first.bound, first.ending) == (second.bound, second.ending)
    assert first.arrangement != run(given, 4, 4, workers)[0].arrangement


def test_small_jobs_repeat_with_the_exact_model_too() -> None:
    given = cast_problem(NAMES[:6], 400.0)
    first, second = (run(given, 6)[0] for _ in range(2))
    assert first.arrangement == second.arrangement
    assert first.bound == second.bound


def test_what_is_not_proven_is_explored_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search has a tenth of 40 iterations before the exact model. That has no time here. Then
    an allowance begins again, at 0, for the other 36."""
    shares: list[float] = []
    iterate = Search.iterate

    def noted(search: Search, executor: ThreadPoolExecutor, share: float) -> None:
        shares.append(share)
        iterate(search, executor, share)

    monkeypatch.setattr(Search, "iterate", noted)
    given = cast_problem(NAMES[:6], 400.0)
    run(given, 40, params=DEFAULT.with_changes({"stages.effort_per_iteration": 1e-6}))
    assert shares == pytest.approx([k / 4 for k in range(4)] + [k / 36 for k in range(36)])


def test_progress_only_ever_improves_and_ends_at_the_answer() -> None:
    given = cast_problem(NAMES, 500.0)
    result, told = run(given, 5)
    lengths, proven = [p.length for p in told], [p.bound for p in told]
    assert lengths == sorted(lengths, reverse=True)
    assert proven == sorted(proven)
    assert lengths[-1] == result.length == strip_length(given, result.arrangement)
    assert all(p.bound <= p.length + 1e-6 for p in told)
    assert told[-1].utilisation == pytest.approx(given.area / (result.length * given.width))
    assert [length for _, length in result.history] == sorted(
        {length for _, length in result.history}, reverse=True
    )
    assert is_free(given, result.arrangement)


def test_no_iteration_still_gives_a_layout() -> None:
    given = cast_problem(NAMES, 500.0)
    assert is_free(given, run(given, 0)[0].arrangement)


def test_many_different_outlines_have_a_layout_before_all_their_polygons() -> None:
    given = cast_problem(NAMES, 500.0)
    early = DEFAULT.with_changes({"first.many": 1})
    result, told = run(given, 3, params=early)
    assert all(is_free(given, each.arrangement) for each in told)
    assert told[0].length > told[1].length, "drawn together by the polygons of neighbours"
    assert result.iterations == 3
    assert run(given, 3, params=early)[0].arrangement == result.arrangement


def test_far_too_many_polygons_are_never_made(monkeypatch: pytest.MonkeyPatch) -> None:
    """Then there are layouts by hulls until the end, each drawn together."""

    def asked(*_of: object) -> None:
        raise AssertionError("all polygons are made")

    monkeypatch.setattr("marker.placement.solve.cached_polygons", asked)
    given = cast_problem(NAMES, 500.0)
    result, told = run(given, 4, params=DEFAULT.with_changes({"first.many": 1, "first.most": 2}))
    assert (result.iterations, result.ending) == (4, Ending.ITERATIONS_UP)
    assert is_free(given, result.arrangement)
    assert told[-1].length < told[1].length < told[0].length


def test_long_strips_are_searched_by_windows() -> None:
    given = cast_problem(NAMES * 3, 150.0, scale=10.0)
    first, second = (run(given, 3)[0] for _ in range(2))
    assert is_free(given, first.arrangement)
    assert first.arrangement == second.arrangement
    assert first.length < run(given, 0)[0].length


def test_groups_share_one_direction() -> None:
    outlines = [CAST[name] * 20 for name in ("ell", "notched", "triangle", "cup")]
    one, two = problem(outlines, 400.0, (0.0, 180.0), group=1), problem(outlines, 400.0, (0, 180))
    items = one.items + tuple(Item(item.orientations, 2) for item in two.items)
    both = PlacementProblem(one.shapes, items, 400.0, 0.0, 2 * one.area, 400.0)
    for seed in range(3):
        result, _ = run(both, 6, seed)
        directions = [
            item.orientations[position.orientation].direction
            for item, position in zip(both.items, result.arrangement, strict=True)
        ]
        assert len(set(directions[:4])) == 1
        assert len(set(directions[4:])) == 1
        assert is_free(both, result.arrangement)


def test_stopped_by_hand_keeps_the_best_so_far() -> None:
    given = cast_problem(NAMES, 500.0)
    told: list[Progress] = []
    event = Event()

    def interrupt(progress: Progress) -> None:
        told.append(progress)
        if len(told) == 14:
            event.set()

    result = solve(given, first_of(when_set(event), after_iterations(50)), 0, 2, interrupt)
    assert result.ending is Ending.BY_HAND
    assert result.length == told[-1].length
    assert is_free(given, result.arrangement)


@pytest.mark.parametrize("changes", [{}, {"first.many": 1}, {"first.many": 1, "first.most": 2}])
def test_a_run_that_is_late_begins_nothing_more(
    changes: dict[str, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Time is up with the second ordering. The rest of its batch would take long with thousands of
    pieces."""
    laid: list[Arrangement] = []
    lay = FirstLayouts.laid

    def noted(layouts: FirstLayouts, ordering: Ordering) -> Arrangement:
        laid.append(lay(layouts, ordering))
        return laid[-1]

    given = cast_problem(NAMES, 500.0)

    def stop(_progress: Progress) -> Verdict:
        return Verdict(0.0, Ending.TIME_UP if len(laid) > 1 else None)

    warm_up_first_layouts()  # it lays, too
    monkeypatch.setattr(FirstLayouts, "laid", noted)
    result = solve(given, stop, 0, 1, lambda _: None, DEFAULT.with_changes(changes))
    assert result.ending is Ending.TIME_UP
    assert len(laid) == 2
    assert is_free(given, result.arrangement)


def test_a_layout_at_the_bound_ends_the_run() -> None:
    given = problem([rectangle(100, 50)] * 4, 100.0)
    result, _ = run(given, 50)
    assert result.ending is Ending.PROVEN
    assert result.length == pytest.approx(200, abs=1e-3)
    assert result.iterations < 50


def progress(seconds: float = 0.0, iteration: int = 0, length: float = 10.0) -> Progress:
    given = problem([rectangle(100, 50)], 100.0)
    return Progress(seconds, iteration, length, 8.0, 0.5, given, (Position(0.0, 0.0, 0),))


@pytest.mark.parametrize(
    ("rule", "goes_on", "ends", "ending"),
    [
        (after_seconds(2), progress(1.9), progress(2.0), Ending.TIME_UP),
        (after_iterations(3), progress(9, 2), progress(0, 3), Ending.ITERATIONS_UP),
        (at_bound(), progress(length=8.01), progress(length=8.0), Ending.PROVEN),
        (
            first_of(at_bound(), after_seconds(2), after_iterations(3)),
            progress(1.9, 2), progress(0.1, 3), Ending.ITERATIONS_UP,
        ),
    ],
)  # fmt: skip
def test_stop_rules(rule: Stop, goes_on: Progress, ends: Progress, ending: Ending) -> None:
    assert rule(goes_on).ending is None
    assert rule(ends).ending is ending


def test_the_share_used_is_the_largest_of_the_rules() -> None:
    rule = first_of(after_seconds(10), after_iterations(4))
    assert rule(progress(2, 1)).share == 0.25
    assert rule(progress(5, 1)).share == 0.5
    assert after_seconds(10)(progress(20)).share == 1.0


def test_no_time_at_all_is_up_at_once() -> None:
    assert after_seconds(0)(progress(0.0)).ending is Ending.TIME_UP
    assert after_iterations(0)(progress()).ending is Ending.ITERATIONS_UP


@pytest.mark.parametrize(
    ("outlines", "turns", "bound"),
    [
        ([rectangle(30, 50)] * 4, (0.0,), 60.0),  # 4 × 30 × 50 ÷ 100
        ([rectangle(200, 10)], (0.0,), 200.0),
        ([rectangle(200, 10)], (0.0, 90.0), 20.0),  # the longest lies across: area decides
        ([rectangle(90, 40)], (0.0, 90.0), 40.0),
    ],
)
def test_simple_bounds(
    outlines: list[np.ndarray[tuple[int, int], np.dtype[np.float64]]],
    turns: tuple[float, ...],
    bound: float,
) -> None:
    assert bounds.simple(problem(outlines, 100.0, turns)) == pytest.approx(bound)


def test_the_gap_does_not_count_for_the_bound() -> None:
    """One rectangle 80 × 40, grown by half a gap of 10 mm all round, needs 80 mm of cloth."""
    orientation = Orientation(0, 0.0, False, 0, (0.0, 0.0))
    grown, core = rectangle(90, 50), rectangle(80, 40) + 5.0
    given = PlacementProblem(
        (grown,), (Item((orientation,)),), 110.0, 5.0, 3200.0, 100.0, cores=(core,)
    )
    assert bounds.simple(given) == pytest.approx(80.0)
    assert run(given, 1)[0].length == pytest.approx(80.0)
