"""No piece touches a flaw: 200 random cases judged by shapely, and layouts moved onto a flaw."""

from __future__ import annotations

from dataclasses import replace
from threading import Event

import numpy as np
import pytest
from shapely.geometry import Polygon

from marker.cloth.stock import Flaw
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.judge import Code, findings
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.planning.events import unheard
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import tasks
from tests.helpers import SIZE, cloth, cut_piece, layout, place
from tests.planning.test_random_jobs import star_shaped
from tests.shapes import CAST, polygon, rectangle

CASES, BATCH = 200, 40
TOUCH_MM = 0.021  # the judge's tolerance and a float's dust


def random_flaw(name: str, width: float, rng: np.random.Generator) -> Flaw:
    """A box or a star-shaped stain near the start of the cloth, where pieces would like to lie."""
    at = np.array([rng.uniform(0, 500), rng.uniform(0, width)])
    if rng.random() < 0.5:
        return Flaw(name, rectangle(*rng.uniform(5, 120, 2)) + at)
    return Flaw(name, star_shaped(rng) * rng.uniform(0.1, 0.6) + at)


def spoiled_job(rng: np.random.Generator) -> tuple[Job, tuple[Flaw, ...]]:
    """Up to four pieces of one or two outlines, few ways to lie, on a cloth with flaws: quick."""
    width, gap = float(rng.uniform(250, 500)), float(rng.choice([0, 0, 2, 7.5]))
    flaws = tuple(random_flaw(f"stain {k}", width, rng) for k in range(rng.integers(1, 4)))
    pieces = tuple(
        Piece(
            f"piece {k}",
            "jersey",
            star_shaped(rng),
            cut=int(rng.integers(1, 3)),
            turns=((0.0,), (0.0, 180.0))[int(rng.random() < 0.3)],
        )
        for k in range(rng.integers(1, 3))
    )
    on = replace(cloth(width, gap_mm=gap), flaws=flaws)
    return Job("choir dress", SIZE, (Pattern(SIZE, pieces),), (on,), {SIZE: 1}), flaws


@pytest.mark.parametrize("first", range(0, CASES, BATCH))
def test_no_piece_touches_a_flaw_in_random_jobs(first: int) -> None:
    at_once = Event()
    at_once.set()
    for seed in range(first, first + BATCH):
        rng = np.random.default_rng(seed)
        job, flaws = spoiled_job(rng)
        (task,) = tasks(job)
        limits = SearchLimits(iterations=1, seed=seed, workers=1)
        if seed % 50:  # the first layout, drawn together, will do
            limits = replace(limits, stopped=at_once)
        laid = lay_task(task, limits, unheard).layout
        spoiled = [Polygon(flaw.outline) for flaw in flaws]
        for placement in laid.placements:
            solid = Polygon(placement.outline_mm).buffer(-TOUCH_MM)
            assert not any(solid.intersects(flaw) for flaw in spoiled), seed


def found_on(outline: FloatArray, flaw: FloatArray, cutout: FloatArray | None = None) -> set[Code]:
    """What the judge finds of one piece laid at the start of a cloth with one flaw."""
    front = cut_piece("front", outline, cutouts=() if cutout is None else (cutout,))
    on = replace(cloth(500), flaws=(Flaw("stain", flaw),))
    return {each.code for each in findings(layout([place(front, 0, 0)], on), [front], [SIZE])}


@pytest.mark.parametrize("name", sorted(CAST))
def test_the_judge_sees_a_flaw_under_any_shape(name: str) -> None:
    inside = Polygon(CAST[name] * 20).representative_point()
    spot = rectangle(0.2, 0.2) + np.array([inside.x - 0.1, inside.y - 0.1])
    assert found_on(CAST[name] * 20, spot) == {Code.FLAW}


def test_a_piece_may_touch_a_flaw_and_lie_around_it() -> None:
    square = rectangle(200, 200)
    assert found_on(square, rectangle(50, 50) + np.array([200, 100])) == set()
    assert found_on(square, rectangle(50, 50) + np.array([199.99, 100])) == set()
    assert found_on(square, rectangle(50, 50) + np.array([199.9, 100])) == {Code.FLAW}
    cut_away = rectangle(60, 60) + 50.0
    assert found_on(square, rectangle(50, 50) + 55.0, cut_away[::-1]) == set()
    assert found_on(square, rectangle(50, 50) + 40.0, cut_away[::-1]) == {Code.FLAW}


def test_a_thread_across_a_narrow_strip_is_seen() -> None:
    thread = rectangle(0.5, 400) + np.array([100, -50])
    assert found_on(rectangle(300, 0.5), thread) == {Code.FLAW}


def test_pieces_go_round_a_flaw_at_the_least_cost() -> None:
    """Two squares of 200 on 400 mm of cloth need 200 mm; a bar across the start pushes them back
    by as much as it covers (arithmetic)."""
    square = Piece("front", "jersey", rectangle(200, 200), cut=2)
    for flaw, length in (
        (polygon((0, 0), (30, 0), (30, 400), (0, 400)), 230),
        (rectangle(30, 10), 230),
        (rectangle(200, 200), 400),
        (rectangle(30, 30) + np.array([200, 185]), 200),
    ):
        on = replace(cloth(400), flaws=(Flaw("bar", flaw),))
        job = Job("choir dress", SIZE, (Pattern(SIZE, (square,)),), (on,), {SIZE: 1})
        (task,) = tasks(job)
        laid = lay_task(task, SearchLimits(iterations=4, workers=1), unheard).layout
        assert laid.length_mm == pytest.approx(length, abs=0.5)
        assert laid.length_lower_bound_mm <= length + 1e-6
