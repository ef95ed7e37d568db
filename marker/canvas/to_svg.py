"""A page as SVG: one user unit is 1 mm, text stays text, the marks of a piece lie in groups."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from xml.sax.saxutils import escape, quoteattr

from marker.canvas.fonts import FAMILY, MM_PER_PT
from marker.canvas.page import Clip, Mark, Page, Shape, Words, is_closed
from marker.canvas.scripts import isolated
from marker.geometry.arrays import FloatArray


def svg_text(page: Page) -> str:
    """The file; the same page gives the same text."""
    width, height = f"{page.width:.10g}", f"{page.height:.10g}"
    clips = list(dict.fromkeys(mark.clip for mark in page.marks if mark.clip is not None))
    return "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" font-family="\'{FAMILY}\', Verdana, sans-serif" '
            'stroke-linejoin="round" fill-rule="evenodd" xml:space="preserve">',
            f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
            *(_clip_path(k, clip, page.height) for k, clip in enumerate(clips)),
            *_groups(page, clips),
            "</svg>",
            "",
        ]
    )


def svg_picture(page: Page, words: str) -> str:
    """The page as an element of an HTML page; `words` for those who cannot see it."""
    width, height = f"{page.width:.10g}", f"{page.height:.10g}"
    return (
        f'<svg role="img" aria-label={quoteattr(words)} width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" stroke-linejoin="round" fill-rule="evenodd">'
        f"{''.join(_groups(page, []))}</svg>"
    )


def _groups(page: Page, clips: Sequence[Clip]) -> Iterator[str]:
    """The marks in their order; neighbours of one piece share a group."""
    for (part, clip), marks in groupby(page.marks, key=lambda mark: (mark.part, mark.clip)):
        looks = f" data-piece={quoteattr(part)}" if part else ""
        looks += f' clip-path="url(#clip-{clips.index(clip)})"' if clip else ""
        if looks:
            yield f"<g{looks}>"
        yield from (_element(mark, page.height) for mark in marks)
        if looks:
            yield "</g>"


def _element(mark: Mark, up: float) -> str:
    return _path(mark, up) if isinstance(mark, Shape) else _text(mark, up)


def _clip_path(number: int, clip: Clip, up: float) -> str:
    (x, y), (far_x, far_y) = clip.low, clip.high
    return (
        f'<clipPath id="clip-{number}"><rect x="{x:.4f}" y="{up - far_y:.4f}" '
        f'width="{far_x - x:.4f}" height="{far_y - y:.4f}"/></clipPath>'
    )


def _path(shape: Shape, up: float) -> str:
    looks = f'fill="{shape.face or "none"}"'
    if shape.edge is not None:
        looks += f' stroke="{shape.edge}" stroke-width="{shape.width:.4g}"'
    if shape.dashes:
        looks += f' stroke-dasharray="{" ".join(f"{dash:.4g}" for dash in shape.dashes)}"'
    name = f" data-name={quoteattr(shape.name)}" if shape.name else ""
    return f'<path{name} {looks} d="{"".join(_run(run, up) for run in shape.runs)}"/>'


def _run(run: FloatArray, up: float) -> str:
    closed = is_closed(run)
    points = [0.0, up] + (run[:-1] if closed else run) * [1.0, -1.0]
    words = "M%.3f %.3f" + "L%.3f %.3f" * (len(points) - 1)
    return words % tuple(points.ravel().tolist()) + "Z" * closed


def _text(words: Words, up: float) -> str:
    """`textLength` keeps it in its place where the viewer has another font."""
    x, y = words.at[0], up - words.at[1]
    turn = f' transform="rotate({-words.angle_deg:.6g} {x:.3f} {y:.3f})"' if words.angle_deg else ""
    weight = ' font-weight="bold"' if words.bold else ""
    return (
        f'<text x="{x:.3f}" y="{y:.3f}"{turn} font-size="{words.size_pt * MM_PER_PT:.4g}"{weight} '
        f'fill="{words.colour}" textLength="{words.width:.3f}" lengthAdjust="spacingAndGlyphs">'
        f"{escape(isolated(words.text))}</text>"
    )
