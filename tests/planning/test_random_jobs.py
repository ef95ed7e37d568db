"""A hundred small jobs of random polygons, laid and passed by the judge, who raises."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Polygon

from marker.cloth.fabric import Cloth, Nap
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.planning.events import unheard
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import tasks
from marker.tolerances import JUDGED_MM

JOBS, BATCH = 105, 15
TURNS = ((0.0,), (0.0, 180.0), (0.0, 90.0, 180.0, 270.0), (90.0, 180.0))


def star_shaped(rng: np.random.Generator) -> FloatArray:
    """A polygon about the origin, up to 240 mm across; sharp tips and deep notches happen."""
    corners = int(rng.integers(3, 9))
    angles = (np.arange(corners) + rng.uniform(0, 0.9, corners)) * 2 * np.pi / corners
    radii = rng.uniform(20, 120, corners)
    outline = np.column_stack((radii * np.cos(angles), radii * np.sin(angles)))
    solid = Polygon(outline)
    fine = solid.is_valid and solid.area > 500 and solid.exterior.is_ccw
    return outline if fine else star_shaped(rng)


def random_piece(name: str, rng: np.random.Generator) -> Piece:
    pair = bool(rng.random() < 0.4)
    return Piece(
        name,
        "jersey",
        star_shaped(rng),
        cut=2 if pair else int(rng.integers(1, 3)),
        pair=pair,
        grain_deg=float(rng.choice([0, 90, 37])),
        turns=TURNS[rng.choice(4, p=[0.2, 0.5, 0.2, 0.1])],
        grain_tolerance_deg=float(rng.choice([0, 0, 0.1, 3])),
    )


def random_job(rng: np.random.Generator) -> Job:
    cloth = Cloth(
        "jersey",
        float(rng.uniform(250, 600)),
        nap=list(Nap)[rng.integers(3)],
        gap_mm=float(rng.choice([0, 0, 2, 7.5])),
    )
    pieces = tuple(random_piece(f"piece {k}", rng) for k in range(rng.integers(1, 3)))
    return Job(
        "choir dress", "38", (Pattern("38", pieces),), (cloth,), {"38": 1 + int(rng.random() < 0.3)}
    )


@pytest.mark.parametrize("first", range(0, JOBS, BATCH))
def test_random_jobs_are_laid_and_judged_clean(first: int) -> None:
    for seed in range(first, first + BATCH):
        rng = np.random.default_rng(seed)
        iterations = int(rng.choice([0, 1, 3], p=[0.4, 0.55, 0.05]))
        limits = SearchLimits(iterations=iterations, seed=seed, workers=1 + seed % 2)
        (task,) = tasks(random_job(rng))
        checked = lay_task(task, limits, unheard)
        layout = checked.layout
        assert len(layout.placements) == len(task.load.items)
        last = max(float(each.outline_mm[:, 0].max()) for each in layout.placements)
        assert layout.length_lower_bound_mm <= last + JUDGED_MM
