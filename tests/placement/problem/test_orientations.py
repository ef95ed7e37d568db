"""Turned outlines against a fine scan of angles: in which tilts a piece fits the width."""

from __future__ import annotations

import numpy as np
import pytest

from marker.geometry.arrays import FloatArray
from marker.placement.problem.orientations import fitting_tilts, narrowest
from marker.tolerances import WIDTH_MM
from tests.helpers import laid_outline
from tests.shapes import CAST, rectangle

SCAN = 4001


def reach_across(outline: FloatArray, tilts: FloatArray) -> FloatArray:
    """The slow twin: how far across each of the tilts reaches."""
    return np.array([np.ptp(laid_outline(outline, float(tilt), False)[:, 1]) for tilt in tilts])


@pytest.mark.parametrize("name", CAST)
@pytest.mark.parametrize("limit", [0.0, 3.0, 40.0, 180.0])
def test_the_farthest_tilts_that_fit_are_those_of_a_scan(name: str, limit: float) -> None:
    outline = laid_outline(CAST[name] * 20, 17.0, False)
    tilts = np.linspace(-limit, limit, SCAN)
    reach = reach_across(outline, tilts)
    step = tilts[1] - tilts[0]
    assert narrowest(outline, limit) == pytest.approx(reach.min(), abs=200 * np.radians(step))
    for width in np.linspace(reach.min() + 0.5, reach.max() + 1.0, 5):
        found = fitting_tilts(outline, limit, float(width))
        fits = tilts[reach <= width + WIDTH_MM]
        assert (0.0 in found) == (reach_across(outline, np.zeros(1))[0] <= width + WIDTH_MM)
        assert max(found) == pytest.approx(fits.max(), abs=1.01 * step)
        assert min(found) == pytest.approx(fits.min(), abs=1.01 * step)
        assert (reach_across(outline, np.array(found)) <= width + 2 * WIDTH_MM).all()


# l sin t + w cos t = width; geometry
def test_a_strip_turns_as_far_as_the_width_allows() -> None:
    farthest = max(fitting_tilts(rectangle(1000, 50), 10.0, 180.0))
    reach = 1000 * np.sin(np.radians(farthest)) + 50 * np.cos(np.radians(farthest))
    assert reach == pytest.approx(180.0, abs=2 * WIDTH_MM)


def test_a_piece_drawn_askew_fits_where_its_edges_lie_along_the_cloth() -> None:
    askew = laid_outline(rectangle(1000, 50), 1.0, False)
    assert list(fitting_tilts(askew, 2.0, 50.0)) == pytest.approx([-1.0], abs=0.01)
    assert fitting_tilts(askew, 0.5, 50.0) == ()
    assert narrowest(askew, 2.0) == pytest.approx(50.0)
