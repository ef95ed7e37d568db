"""SVG drawings for the corpus: how they are written, and the cases of what is drawn and where."""

from __future__ import annotations

import math

from tests.exchange.corpus import Case

PAGE = 'width="1000mm" height="1000mm" viewBox="0 0 1000 1000"'
BOX = "M 100 100 H 400 V 300 H 100 Z"  # 300 × 200 mm
LINE = 'fill="none" stroke="black"'
ONE = [(300.0, 200.0)]


def svg(body: str, page: str = PAGE, more: str = "") -> str:
    editor = 'xmlns:editor="http://example.org/editor" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {editor} {page} {more}>{body}</svg>'


def square(side: float, text: str = "", at: float = 600.0, y: float = 600.0) -> str:
    words = f'<text x="{at + side / 3}" y="{y + side / 2}">{text}</text>' if text else ""
    return f'<rect x="{at}" y="{y}" width="{side}" height="{side}" {LINE}/>{words}'


def layer(name: str, body: str, kind: str = "editor:label") -> str:
    return f'<g {kind}="{name}">{body}</g>'


CUT, FOLDED = layer("cut line", f'<path d="{BOX}"/>'), '<line x1="100" y1="100" x2="100" y2="300"/>'
SHAPES: dict[str, Case] = {
    "path": Case(svg(f'<path d="{BOX}" {LINE}/>'), ONE),
    "rect": Case(svg(f'<rect x="1" y="2" width="300" height="200" {LINE}/>'), ONE),
    "rounded rect": Case(
        svg(f'<rect width="300" height="200" rx="20" {LINE}/>'),
        ONE,
        area_mm2=60_000 - (4 - math.pi) * 400,
    ),
    "circle": Case(
        svg(f'<circle cx="200" cy="200" r="100" {LINE}/>'), [(200.0, 200.0)], area_mm2=math.pi * 1e4
    ),
    "ellipse": Case(
        svg(f'<ellipse cx="200" cy="200" rx="150" ry="50" {LINE}/>'),
        [(300.0, 100.0)],
        area_mm2=math.pi * 7500,
    ),
    "polygon": Case(svg(f'<polygon points="0,0 300,0 300,200 0,200" {LINE}/>'), ONE),
    "closed polyline": Case(svg(f'<polyline points="0 0 300 0 300 200 0 200 0 0" {LINE}/>'), ONE),
    "four lines": Case(
        svg(
            f'<g {LINE}><line x1="0" y1="0" x2="300" y2="0"/><line x1="300" y1="200" x2="300"/>'
            '<line x1="0" y1="200" x2="300" y2="200"/><line y2="200"/></g>'
        ),
        ONE,
    ),
    "half on a fold drawn as a line": Case(svg(CUT + layer("fold line", FOLDED)), ONE, folds=1),
    "arcs": Case(
        svg(f'<path d="M 0 100 A 100 100 0 0 1 200 100 L 200 300 H 0 Z" {LINE}/>'),
        [(200.0, 300.0)],
        area_mm2=40_000 + math.pi * 5000,
    ),
    "relative and smooth curves": Case(
        svg(f'<path d="m 0 0 c 0 0 100 50 150 50 s 150 -50 150 -50 l 0 200 h -300 z" {LINE}/>'), ONE
    ),
    "quadratic": Case(
        svg(f'<path d="M 0 0 Q 150 100 300 0 T 600 0 V 200 H 0 Z" {LINE}/>'), [(600.0, 250.0)]
    ),
    "numbers run together": Case(svg(f'<path d="M.0.0l300-0v2e2h-300z" {LINE}/>'), ONE),
}
PLACED: dict[str, Case] = {
    "symbol with a viewBox": Case(
        svg(
            '<symbol id="a" viewBox="0 0 30 20"><path d="M 0 0 h 30 v 20 h -30 z"/></symbol>'
            '<use href="#a" x="50" y="60" width="300" height="200"/>'
        ),
        ONE,
    ),
    "symbol fitted in the middle": Case(
        svg(
            '<symbol id="a" viewBox="0 0 30 20"><path d="M 0 0 h 30 v 20 h -30 z"/></symbol>'
            '<use href="#a" width="600" height="200"/>'
        ),
        ONE,
    ),
    "symbol stretched": Case(
        svg(
            '<symbol id="a" viewBox="0 0 10 10" preserveAspectRatio="none">'
            '<rect width="10" height="10" stroke="red"/></symbol>'
            '<use xlink:href="#a" width="300" height="200"/>'
        ),
        ONE,
    ),
    "symbol that cuts off what is beyond it": Case(
        svg(
            '<symbol id="a" viewBox="0 0 30 20"><rect width="30" height="20" stroke="red"/>'
            '<rect x="100" width="30" height="20" stroke="red"/></symbol>'
            '<use href="#a" width="300" height="200"/>'
        ),
        ONE,
    ),
    "drawing in the drawing": Case(
        svg(
            '<svg x="100" y="50" width="300" height="200" viewBox="0 0 30 20">'
            '<rect width="30" height="20" stroke="red"/></svg>'
        ),
        ONE,
    ),
    "clip path around it": Case(
        svg(
            '<clipPath id="c"><rect width="900" height="900"/></clipPath>'
            f'<g clip-path="url(#c)"><path d="{BOX}" {LINE}/></g>'
        ),
        ONE,
    ),
    "clip path beside it": Case(
        svg(
            '<clipPath id="c"><rect width="450" height="900"/></clipPath>'
            f'<g clip-path="url(#c)"><path d="{BOX}" {LINE}/>'
            f'<path d="{BOX}" transform="translate(500)" {LINE}/></g>'
        ),
        ONE,
        says=["outside their clip path"],
    ),
    "clip path in units of the shape": Case(
        svg(
            '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height="1"/>'
            f'</clipPath><path clip-path="url(#c)" d="{BOX}" {LINE}/>'
        ),
        ONE,
    ),
    "a transform of each kind": Case(
        svg(
            '<g transform="translate(100,50) scale(2)"><g transform="rotate(90 10 10)">'
            f'<g transform="matrix(1 0 0 1 5 5) skewX(0)"><rect width="100" height="150" {LINE}/>'
            "</g></g></g>"
        ),
        ONE,
    ),
    "mirrored": Case(svg(f'<g transform="scale(-1 1)"><path d="{BOX}" {LINE}/></g>'), ONE),
    "in inches": Case(
        svg(
            f'<rect width="3" height="2" {LINE}/>', 'width="10in" height="10in" viewBox="0 0 10 10"'
        ),
        [(76.2, 50.8)],
    ),
    "in points": Case(
        svg(
            f'<rect width="720" height="360" {LINE}/>',
            'width="1000pt" height="1000pt" viewBox="0 0 1000 1000"',
        ),
        [(254.0, 127.0)],
    ),
    "its viewBox begins elsewhere": Case(
        svg(f'<path d="{BOX}" {LINE}/>', 'width="500mm" height="500mm" viewBox="-50 -50 500 500"'),
        ONE,
    ),
    "drawn at half size": Case(
        svg(f'<path d="{BOX}" {LINE}/>', 'width="500mm" height="500mm" viewBox="0 0 1000 1000"'),
        [(150.0, 100.0)],
    ),
    "pixels alone": Case(
        svg(f'<path d="{BOX}" {LINE}/>', 'width="500" height="500"'),
        refused='does not say.*79.4 mm .* if a unit is 1/96 in, 30 cm .*--units "1/96 in", mm, cm',
    ),
    "pixels told": Case(
        svg(f'<rect width="960" height="480" {LINE}/>', 'width="1500px" height="1500px"'),
        [(254.0, 127.0)],
        unit_mm=25.4 / 96,
    ),
}
HIDDEN_SHAPE = '<path {} d="M 0 0 H 900 V 900 H 0 Z"/>'
HIDDEN = {
    name: Case(svg(HIDDEN_SHAPE.format(how) + f'<path d="{BOX}" {LINE}/>'), ONE)
    for name, how in {
        "display none": 'style="display:none" stroke="red"',
        "hidden": 'visibility="hidden" stroke="red"',
        "no stroke": 'fill="#eee" stroke="none"',
        "opacity 0": 'stroke="red" opacity="0"',
        "opacity 0 by style": 'style="stroke:red;opacity:0.0"',
        "stroke opacity 0": 'stroke="red" stroke-opacity="0"',
        "stroke width 0": 'stroke="red" stroke-width="0"',
        "stroke width 0px by style": 'style="stroke:red; stroke-width: 0px"',
        "stroke transparent": 'stroke="rgba(0,0,0,0)"',
    }.items()
} | {
    "group of opacity 0": Case(
        svg(f'<g opacity="0%">{HIDDEN_SHAPE.format(LINE)}</g><path d="{BOX}" {LINE}/>'), ONE
    ),
}
