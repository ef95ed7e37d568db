"""Checks that any plan must pass, whatever found it."""

from __future__ import annotations

from collections.abc import Sequence

from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Lay, Limits


def assert_sound(
    lays: Sequence[Lay], order: CutOrder, limits: Limits, lengths: Lengths | None = None
) -> None:
    """The demand is met within the over-cut, and every limit is kept."""
    for colour in order.colours:
        for size in order.sizes:
            cut = sum(lay.plies.get(colour, 0) * lay.garments.get(size, 0) for lay in lays)
            most = order.most(colour, size)
            assert order.least(colour, size) <= cut
            assert most is None or cut <= most
    if limits.max_markers is not None:
        assert len(lays) <= limits.max_markers
    for lay in lays:
        assert all(number > 0 for number in (*lay.plies.values(), *lay.garments.values()))
        assert 1 <= sum(lay.garments.values()) <= limits.max_garments
        assert lay.height >= 1
        assert limits.max_plies is None or lay.height <= limits.max_plies
        if lengths is not None and limits.table_mm is not None:
            assert lengths.on_table_mm(lay.garments) <= limits.table_mm
