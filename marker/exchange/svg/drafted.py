"""A drafted garment's drawing in one size: its pieces in rows, curves as they were drafted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape

from marker.blocks.curve import Curve
from marker.blocks.garment import Draft

_WIDTH_MM, _MARGIN_MM = 1600.0, 50.0


def draft_id(name: str) -> str:
    """The id of a piece's outline in the drawing."""
    return name.replace(" ", "-")


def draft_places(drafts: Sequence[Draft]) -> list[complex]:
    """Where the top left corner of each piece lies in the drawing, mm, y down."""
    places: list[complex] = []
    at, row = complex(_MARGIN_MM, 2 * _MARGIN_MM), 0.0
    for draft in drafts:
        if at.real + draft.size.real + _MARGIN_MM > _width(drafts) and at.real > _MARGIN_MM:
            at, row = complex(_MARGIN_MM, at.imag + row + _MARGIN_MM), 0.0
        places.append(at)
        at, row = at + draft.size.real + _MARGIN_MM, max(row, draft.size.imag)
    return places


def draft_text(title: str, drafts: Sequence[Draft]) -> str:
    """SVG drawing in millimetres; each piece has its name and its grain arrow."""
    width, places = _width(drafts), draft_places(drafts)
    low = max(at.imag + draft.size.imag for at, draft in zip(places, drafts, strict=True))
    height = low + _MARGIN_MM
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}mm" height="{height:.0f}mm"'
            f' viewBox="0 0 {width:.0f} {height:.0f}" fill="none" stroke="black"'
            ' font-family="sans-serif">',
            f"  <title>{escape(title)}</title>",
            f'  <text x="{_MARGIN_MM:.0f}" y="{_MARGIN_MM:.0f}" font-size="30" fill="black"'
            f' stroke="none">{escape(title)}</text>',
            *(line for draft, at in zip(drafts, places, strict=True) for line in _drawn(draft, at)),
            "</svg>\n",
        ]
    )


def _width(drafts: Sequence[Draft]) -> float:
    return max(_WIDTH_MM, *(draft.size.real + 2 * _MARGIN_MM for draft in drafts))


def _drawn(draft: Draft, at: complex) -> Iterator[str]:
    """The piece's outline, its name above it, and a grain arrow inside it."""
    middle = at + complex(0.35 * draft.size.real, 0.55 * draft.size.imag)
    turned = draft.grain_deg % 180 == 0
    ahead = 0.25 * draft.size.real if turned else -0.25j * draft.size.imag
    tip, tail, back = middle + ahead, middle - ahead, -8 * ahead / abs(ahead)
    left, right = (tip + back * (1 + side) for side in (0.5j, -0.5j))
    yield f'  <path id="{draft_id(draft.name)}" d="{_path(draft, at)}"/>'
    yield (
        f'  <text x="{at.real:.2f}" y="{at.imag - 6:.2f}" font-size="14" fill="black"'
        f' stroke="none">{escape(draft.name)}</text>'
    )
    yield (
        f'  <path class="grain" d="M {_pair(tail)} L {_pair(tip)}'
        f' M {_pair(left)} L {_pair(tip)} L {_pair(right)}"/>'
    )


def _path(draft: Draft, at: complex) -> str:
    """SVG path data with the box's top left corner at `at`; a last straight line is left to Z."""
    lines = [each.moved(at - draft.corner) for each in draft.outline]
    drawn = lines if lines[-1].handles else lines[:-1]
    return " ".join([f"M {_pair(lines[0].start)}", *map(_command, drawn), "Z"])


def _command(drawn: Curve) -> str:
    if drawn.handles is None:
        return f"L {_pair(drawn.end)}"
    return f"C {' '.join(map(_pair, (*drawn.handles, drawn.end)))}"


def _pair(point: complex) -> str:
    return f"{point.real + 0.0:.2f} {point.imag + 0.0:.2f}"
