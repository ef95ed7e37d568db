"""A sewn sample tells a better ratio."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.errors import CannotBeDone
from marker.pattern.bands.band_length import adjusted_ratio


def test_rippled_and_gathered_by_hand() -> None:
    """0.85 of 200 mm is 170; 6 mm too long makes 164, 0.82 of 200 (arithmetic)."""
    assert adjusted_ratio(0.85, 200, 6) == pytest.approx(0.82)
    assert adjusted_ratio(0.85, 200, -6) == pytest.approx(0.88)


@given(st.floats(0.5, 1.1), st.floats(100, 1000), st.floats(-40, 40))
def test_the_new_band_is_longer_by_what_was_missing(ratio: float, over: float, out: float) -> None:
    assert adjusted_ratio(ratio, over, out) * over == pytest.approx(ratio * over - out)


def test_more_than_the_band_cannot_be_taken_out() -> None:
    with pytest.raises(CannotBeDone, match=r"20 cm cannot be taken out.*17 cm long"):
        adjusted_ratio(0.85, 200, 200)
