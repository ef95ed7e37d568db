"""Folded never takes less than open, on random jobs; every spread's layout passes the judge."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker.cloth.spread import Spreading
from marker.planning.events import unheard
from marker.planning.lay import best, try_spreads
from marker.planning.limits import SearchLimits
from marker.planning.tasks import loads
from tests.planning.test_random_jobs import random_job


@pytest.mark.parametrize("seed", range(6))
def test_folded_never_beats_open(seed: int) -> None:
    job = random_job(np.random.default_rng(seed))
    wide = replace(job, cloths=tuple(replace(c, width_mm=c.width_mm * 2) for c in job.cloths))
    (load,) = loads(wide)
    limits = SearchLimits(iterations=0, seed=seed, workers=1)
    tried = try_spreads(load, limits, unheard)
    laid = {each.spreading: each.checked for each in tried if each.checked}
    shortest = best(tried).layout.length_mm
    assert laid[Spreading.OPEN].layout.length_mm <= shortest + 1e-9
    assert all(each.why_not for each in tried if each.checked is None)
