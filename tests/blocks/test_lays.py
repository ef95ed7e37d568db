"""Every garment lays as it is drafted."""

from __future__ import annotations

import pytest

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS
from marker.planning.lay import lay
from marker.planning.limits import SearchLimits
from tests.blocks.drafted import job


@pytest.mark.parametrize("garment", GARMENTS)
def test_a_garment_lays_as_it_is(garment: str) -> None:
    own = job(garment, {"38": Body.of_size("38")})
    laid = lay(own, SearchLimits(iterations=0), lambda _: None)
    assert all(each.fits for each in laid)
    assert laid[0].checked.utilisation > 0.4
