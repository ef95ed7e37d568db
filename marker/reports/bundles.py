"""Which pieces make up each garment of a layout."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from marker.layout import CheckedLayout


def bundles(checked: CheckedLayout) -> Iterator[tuple[int, str, Counter[str]]]:
    """Garment, its size and its pieces, numbered as on the diagram."""
    for garment, size in enumerate(checked.garments, start=1):
        own = (place for place in checked.layout.placements if place.garment == garment)
        yield garment, size, Counter(place.piece for place in own)


def bundle_lines(checked: CheckedLayout) -> Iterator[str]:
    """The same for a person."""
    for garment, size, pieces in bundles(checked):
        of = ", ".join(f"{count} {piece}" for piece, count in pieces.items())
        yield f"garment {garment}, size {size}: {of}"


def piece_counts(checked: CheckedLayout) -> Counter[tuple[str, str]]:
    """(piece, size) -> how often it lies in the layout, in the order of placements."""
    return Counter((place.piece, place.size) for place in checked.layout.placements)
