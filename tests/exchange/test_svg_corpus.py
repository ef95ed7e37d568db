"""SVG drawings of many makes, each read with the measures that it was written with, or refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.exchange.corpus import Case, check
from tests.exchange.svg_drawings import (
    BOX,
    CUT,
    FOLDED,
    HIDDEN,
    LINE,
    ONE,
    PLACED,
    SHAPES,
    layer,
    square,
    svg,
)

TWICE: dict[str, Case] = {
    "the same path twice": Case(svg(f'<path d="{BOX}" {LINE}/>' * 2), ONE, says=["drawn twice"]),
    "fill and stroke apart": Case(
        svg(f'<path d="{BOX}" fill="#eee"/><path d="{BOX}" {LINE}/>'), ONE
    ),
    "fill and stroke apart, both stroked": Case(
        svg(f'<path d="{BOX}" fill="#eee" stroke="#eee"/><path d="{BOX}" {LINE}/>'), ONE
    ),
    "a white halo": Case(
        svg(
            f'<path d="{BOX}" fill="none" stroke="white" stroke-width="3"/><path d="{BOX}" {LINE}/>'
        ),
        ONE,
    ),
    "backwards and from another corner": Case(
        svg(f'<path d="{BOX}" {LINE}/><path d="M 400 300 V 100 H 100 V 300 Z" {LINE}/>'), ONE
    ),
    "a circle as a circle and as a path": Case(
        svg(
            f'<circle cx="200" cy="200" r="100" {LINE}/>'
            f'<path d="M 100 200 A 100 100 0 0 1 300 200 A 100 100 0 0 1 100 200" {LINE}/>'
        ),
        [(200.0, 200.0)],
    ),
    "lines drawn twice": Case(
        svg(
            f"<g {LINE}>" + '<path d="M 100 100 H 400"/><path d="M 400 100 V 300"/>'
            '<path d="M 400 300 H 100"/><path d="M 100 300 V 100"/>' * 2 + "</g>"
        ),
        ONE,
    ),
    "beside an outline that crosses itself": Case(
        svg(f'<path d="{BOX}" {LINE}/><path id="bow" d="M 500 100 L 600 200 H 500 L 600 100 Z"/>'),
        ONE,
        says=["1 × closed line 'bow' that crosses or touches itself at x 55 cm"],
    ),
    "0.05 mm apart": Case(
        svg(f'<path d="{BOX}" {LINE}/><path d="{BOX}" transform="translate(.05)" {LINE}/>'), ONE
    ),
    "two pieces alike, side by side": Case(
        svg(f'<path d="{BOX}" {LINE}/><path d="{BOX}" transform="translate(350)" {LINE}/>'), ONE * 2
    ),
    "outline and notches that begin at its corners": Case(
        svg(
            '<g stroke="black"><path d="M 100 100 H 250"/><path d="M 250 100 H 400"/>'
            '<path d="M 400 100 V 300 H 100 V 100"/><path d="M 250 100 v 5"/></g>'
        ),
        ONE,
    ),
    "stretches of one outline on two layers of no name": Case(
        svg(
            f'<g id="a"><path d="M 0 0 H 300 V 200" {LINE}/></g>'
            f'<g id="b"><path d="M 300 200 H 0 V 0" {LINE}/></g>'
        ),
        ONE,
    ),
}
OFF = {share: 100.0 * share / 100 for share in (99.0, 97.0, 94.0, 104.35)}
SQUARES: dict[str, Case] = (
    {
        "10 cm, true": Case(
            svg(f'<path d="{BOX}" {LINE}/>' + square(100, "10 cm")),
            ONE,
            says=["test square of 10 cm .* as it should"],
        ),
        "1 in, true, in words": Case(
            svg(f'<path d="{BOX}" {LINE}/>' + square(25.4, "1 inch")), ONE
        ),
        "2 in by its sign": Case(svg(f'<path d="{BOX}" {LINE}/>' + square(50.8, "2&quot;")), ONE),
        "5 cm, no word": Case(svg(f'<path d="{BOX}" {LINE}/>' + square(50)), ONE),
        "4 in, no word": Case(svg(f'<path d="{BOX}" {LINE}/>' + square(101.6)), ONE),
        "in a piece": Case(
            svg(
                f'<path d="M 0 0 H 900 V 700 H 0 Z" {LINE}/>' + square(100, "10 cm test", 300, 300)
            ),
            [(900.0, 700.0)],
        ),
        "in a piece with layers": Case(
            svg(
                layer(
                    "cut line",
                    '<path d="M 0 0 H 900 V 700 H 0 Z"/>' + square(100, "10 cm", 300, 300),
                )
            ),
            [(900.0, 700.0)],
        ),
        "on a layer of its own": Case(
            svg(CUT + layer("legend", square(94, "10 cm"))), refused=r"94.00 % of that"
        ),
        "a square pocket by name": Case(
            svg('<path id="pocket" d="M 0 0 H 100 V 100 H 0 Z" stroke="black"/>'),
            [(100.0, 100.0)],
            names=["pocket"],
        ),
        "a square pocket by its label": Case(
            svg(f'<path d="{BOX}" {LINE}/>' + square(100, "pocket")), [(100.0, 100.0), *ONE]
        ),
        "nothing but a square": Case(svg(square(100)), [(100.0, 100.0)]),
        "four lines": Case(
            svg(
                f'<path d="{BOX}" {LINE}/><g {LINE}><path d="M 600 600 h 100"/>'
                '<path d="M 700 600 v 100"/>'
                '<path d="M 700 700 h -100"/><path d="M 600 700 v -100"/></g>'
                '<text x="610" y="650">test square 10 cm</text>'
            ),
            ONE,
        ),
        "told, so that a square of 104 mm is a piece": Case(
            svg(f'<path d="{BOX}" {LINE}/>' + square(104.35)), [(104.35, 104.35), *ONE], unit_mm=1.0
        ),
        "told by the square": Case(
            svg(f'<path d="{BOX}" {LINE}/>' + square(94, "10 cm")),
            [(300 / 0.94, 200 / 0.94)],
            unit_mm=1 / 0.94,
            says=["as it should"],
        ),
        "in pixels, with a square that says the scale": Case(
            svg(
                f'<rect width="960" height="480" {LINE}/>' + square(360, "10 cm", 1200),
                'width="2000"',
            ),
            refused=r'95.2[45] % of that.*--units "0.277\d+ mm"',
        ),
    }
    | {
        f"10 cm at {share} %": Case(
            svg(f'<path d="{BOX}" {LINE}/>' + square(side, text)),
            refused=rf'{share:.2f} % of that.*--units "{100 / side:.6g} mm"',
        )
        for share, side in OFF.items()
        for text in ("10 cm",)
    }
    | {
        f"a square without a word at {share} %": Case(
            svg(f'<path d="{BOX}" {LINE}/>' + square(side)), refused="perhaps a test square"
        )
        for share, side in OFF.items()
    }
)
SLEEVE = '<path d="M 50 50 L 200 60 L 180 250 L 60 240 Z" stroke="black"/>'
CUFF = '<path d="M 250 300 L 330 310 L 320 380 L 250 370 Z" stroke="black"/>'
BOTH = [(150.0, 200.0), (80.0, 80.0)]
FRAMES: dict[str, Case] = {
    "a border": Case(
        svg(f'<rect x="10" y="10" width="380" height="480" {LINE}/>{SLEEVE}{CUFF}'),
        BOTH,
        says=["frames around pieces"],
    ),
    "a background with an edge": Case(
        svg(f'<rect width="1000" height="1000" fill="white" stroke="black"/>{SLEEVE}{CUFF}'), BOTH
    ),
    "a background without": Case(
        svg(f'<rect width="1000" height="1000" fill="white"/>{SLEEVE}{CUFF}'), BOTH
    ),
    "two borders": Case(
        svg(
            f'<rect x="5" y="5" width="390" height="490" {LINE}/>'
            f'<rect x="10" y="10" width="380" height="480" {LINE}/>{SLEEVE}{CUFF}'
        ),
        BOTH,
    ),
    "a border of the page around one piece": Case(
        svg(f'<rect x="10" y="10" width="980" height="980" {LINE}/>{SLEEVE}'), BOTH[:1]
    ),
    "a sheet of paper around a piece with a name": Case(
        svg(f'<rect width="210" height="297" {LINE}/>{SLEEVE}<text x="100" y="150">sleeve</text>'),
        BOTH[:1],
        names=["sleeve"],
    ),
    "a sheet of paper that may be a piece": Case(
        svg(f'<rect width="210" height="297" {LINE}/>{SLEEVE}'), refused="may be a frame"
    ),
    "a map of pages": Case(
        svg(
            f"{SLEEVE}<g {LINE}>"
            + "".join(
                f'<rect x="{600 + 20 * k % 80}" y="{600 + 28 * (k // 4)}" width="20" '
                f'height="28"/><text x="{605 + 20 * k % 80}" y="{615 + 28 * (k // 4)}">'
                f"A{k}</text>"
                for k in range(12)
            )
            + "</g>"
        ),
        BOTH[:1],
        says=["cells of a map of pages"],
    ),
    "a rectangle with its stitching line": Case(
        svg(
            f'<rect x="100" y="100" width="300" height="200" {LINE}/>'
            f'<rect x="110" y="110" width="280" height="180" {LINE}/>'
        ),
        ONE,
        says=["closed lines inside a piece"],
    ),
    "a rectangle with a circle in it": Case(
        svg(f'<path d="{BOX}" {LINE}/><circle cx="250" cy="200" r="40" {LINE}/>'),
        ONE,
        says=["closed lines inside a piece"],
    ),
    "page numbers are no names": Case(
        svg(
            f'{SLEEVE}<text x="100" y="100">page 3 of 12</text><text x="100" y="150">sleeve</text>'
        ),
        BOTH[:1],
        names=["sleeve"],
    ),
    "a number is no name, a letter is for want of better": Case(
        svg(
            f'{SLEEVE}<text x="100" y="100">D3</text><text x="100" y="150">3 / 12</text>'
            f'<text x="100" y="180">B</text>'
        ),
        BOTH[:1],
        names=["B"],
    ),
}
HOLES: dict[str, Case] = {
    "even-odd": Case(
        svg(f'<path fill-rule="evenodd" d="{BOX} M 200 150 H 300 V 250 H 200 Z" stroke="black"/>'),
        ONE,
        area_mm2=50_000,
        holes=1,
    ),
    "two holes, turned the other way": Case(
        svg(
            f'<path d="{BOX} M 150 150 V 200 H 200 V 150 Z M 300 150 V 200 H 350 V 150 Z" {LINE}/>'
        ),
        ONE,
        area_mm2=55_000,
        holes=2,
    ),
    "on layers": Case(
        svg(layer("cut line", f'<path d="{BOX}"/><path d="M 200 150 H 300 V 250 H 200 Z"/>')),
        ONE,
        area_mm2=50_000,
        holes=1,
    ),
    "two pieces in one path": Case(
        svg(f'<path d="{BOX} M 500 100 H 800 V 300 H 500 Z" {LINE}/>'), ONE * 2
    ),
}
LAYERS: dict[str, Case] = {
    "names with coded blanks": Case(
        svg(f'<g id="Cut_x0020_line"><path d="{BOX}"/></g><g id="fold_x5F_line">{FOLDED}</g>'),
        ONE,
        folds=1,
    ),
    "names of pieces with coded signs": Case(
        svg(layer("cut line", f'<path id="back_x0020_yoke_x5F_left" d="{BOX}"/>')),
        ONE,
        names=["back yoke left"],
    ),
    "layers by class": Case(
        svg(f'<path class="cut-line" d="{BOX}"/><path class="grain-line" d="M 200 150 V 250"/>'),
        ONE,
        grains=1,
    ),
    "sizes on layers": Case(
        svg(
            layer("Size 36", '<path id="front" d="M 0 0 H 300 V 200 H 0 Z" stroke="red"/>')
            + layer("Size 38", '<path id="front-2" d="M 0 0 H 310 V 205 H 0 Z" stroke="blue"/>')
            + layer("Size 40", '<path id="front-3" d="M 0 0 H 320 V 210 H 0 Z" stroke="green"/>')
            + '<text x="100" y="100">front</text>'
        ),
        [(310.0, 205.0)],
        sizes=["36", "38", "40"],
    ),
    "one of the sizes on layers": Case(
        svg(
            layer("36", '<path d="M 0 0 H 300 V 200 H 0 Z" stroke="red"/>')
            + layer("38", '<path d="M 0 0 H 310 V 205 H 0 Z" stroke="blue"/>')
        ),
        ONE,
        size="36",
    ),
    "sizes and layers within one another": Case(
        svg(
            layer(
                "cut line",
                layer("S", f'<path d="{BOX}"/>')
                + layer("M", '<path d="M 90 90 H 410 V 310 H 90 Z"/>'),
            )
            + layer("grain line", '<path d="M 200 150 V 250"/>')
        ),
        [(320.0, 220.0)],
        sizes=["S", "M"],
        grains=1,
    ),
    "a layer within a layer": Case(
        svg(layer("front", layer("cut line", f'<path d="{BOX}"/>') + layer("fold line", FOLDED))),
        ONE,
        folds=1,
    ),
}
OPEN: dict[str, Case] = {
    "a gap of 0.05 mm": Case(svg(f'<path d="M 100 100 H 400 V 300 H 100 V 100.05" {LINE}/>'), ONE),
    "a gap of 0.4 mm": Case(
        svg(f'<path d="M 100 100 H 400 V 300 H 100 V 100.4" {LINE}/>'),
        refused=r'gaps of 0.40 mm at x 100.0 mm, y -100.\d mm .*--join "',
    ),
    "a gap of 0.4 mm, joined": Case(
        svg(f'<path d="M 100 100 H 400 V 300 H 100 V 100.4" {LINE}/>'),
        ONE,
        join_mm=0.5,
        within_mm=0.5,
    ),
    "gaps of 2 mm at every corner": Case(
        svg(
            f'<g {LINE}><path d="M 102 100 H 398"/><path d="M 400 102 V 298"/>'
            '<path d="M 398 300 H 102"/><path d="M 100 298 V 102"/></g>'
        ),
        refused="gaps of 2.83 mm",
    ),
    "open on purpose": Case(
        svg(f'<path d="{BOX}" {LINE}/><path d="M 500 500 H 700 V 600" {LINE}/>'),
        ONE,
        says=["do not close"],
    ),
    "a fold line that runs along no edge": Case(
        svg(CUT + layer("fold line", '<path d="M 150 120 V 280"/>')), refused="runs along no edge"
    ),
    "a whole piece with its middle drawn": Case(
        svg(CUT + layer("fold line", '<path d="M 250 100 V 300"/>')), ONE, inner=1
    ),
}
TICK = "M 250 100 V 105"
NOTCHES: dict[str, Case] = {
    name: Case(svg(CUT + layer("notches", body)), ONE, notches=count)
    for name, body, count in (
        ("a slit", f'<path d="{TICK}"/>', 1),
        ("a slit across the line", '<line x1="250" y1="97" x2="250" y2="103"/>', 1),
        ("a V", '<path d="M 247 100 L 250 106 L 253 100"/>', 1),
        ("a V of two lines", '<path d="M 247 100 L 250 106"/><path d="M 250 106 L 253 100"/>', 1),
        ("a V outward", '<path d="M 247 100 L 250 94 L 253 100"/>', 1),
        ("a closed V", '<path d="M 247 100 L 250 106 L 253 100 Z"/>', 1),
        ("a T", '<path d="M 250 100 V 106"/><path d="M 247 106 H 253"/>', 1),
        ("a box", '<path d="M 247 100 V 106 H 253 V 100"/>', 1),
        ("two slits", '<path d="M 250 100 V 105 M 256 100 V 105"/>', 2),
        ("a dot", '<circle cx="250" cy="100" r="1"/>', 1),
    )
}  # fmt: skip
CASES = {
    f"{kind}: {name}": case
    for kind, cases in (
        ("shapes", SHAPES), ("placed", PLACED), ("hidden", HIDDEN), ("twice", TWICE),
        ("squares", SQUARES), ("frames", FRAMES), ("holes", HOLES), ("layers", LAYERS),
        ("open", OPEN), ("notches", NOTCHES),
    )
    for name, case in cases.items()
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_an_svg_drawing_is_read_as_it_was_meant(name: str, tmp_path: Path) -> None:
    path = tmp_path / "choir.svg"
    path.write_text(CASES[name].drawing, encoding="utf-8")
    check(CASES[name], [path])


@pytest.mark.parametrize("name", NOTCHES)
def test_a_notch_stands_where_it_points(name: str, tmp_path: Path) -> None:
    path = tmp_path / "choir.svg"
    path.write_text(NOTCHES[name].drawing, encoding="utf-8")
    found = check(NOTCHES[name], [path])
    assert found is not None
    assert found.pieces[0].notches[0] == pytest.approx((250.0, -100.0), abs=0.05)


def test_there_are_as_many_as_are_said() -> None:
    assert len(CASES) >= 100
