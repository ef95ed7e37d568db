"""SVG drawings as vector editors write them, read for import."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from marker.exchange.importing import Imported
from marker.exchange.scale import ScaleUnknown
from marker.pattern.stitching import edge_length_mm
from tests.exchange.exchange import imported, job_of

PHYSICAL = 'width="1000mm" height="1000mm" viewBox="0 0 1000 1000"'
BOX = "M 100 100 H 400 V 300 H 100 Z"


def read(folder: Path, body: str, size: str = PHYSICAL, unit_mm: float | None = None) -> Imported:
    editor = 'xmlns:editor="http://example.org/editor"'
    text = f'<svg xmlns="http://www.w3.org/2000/svg" {editor} {size}>{body}</svg>'
    return imported(folder, text, "svg", unit_mm)


def measures(found: Imported) -> list[tuple[float, float]]:
    return [tuple(np.round(np.ptp(piece.outline, axis=0), 2)) for piece in found.pieces]


@pytest.mark.parametrize(
    "body",
    [
        f'<path d="{BOX}"/>',
        '<rect x="100" y="100" width="300" height="200"/>',
        '<rect width="3in" height="2in" transform="scale(1.0416666666667)"/>',
        '<g transform="translate(50)"><g transform="scale(2)"><rect width="150" height="100"/>'
        "</g></g>",
        f'<defs><path id="a" d="{BOX}"/></defs><use href="#a" x="20" y="30"/>',
        f'<symbol id="a"><path d="{BOX}"/></symbol><use href="#a" transform="rotate(180)"/>',
        '<path d="M 100 100 H 400"/><path d="M 100 300 V 100"/><path d="M 400 100 V 300 H 100"/>',
        f'<a><switch><path d="{BOX}"/></switch></a>',
        f'<path style="stroke:#000;fill:none" d="{BOX}"/><desc/><metadata/>',
    ],
)
def test_one_box_drawn_in_many_ways(body: str, tmp_path: Path) -> None:
    """300 × 200 mm; 1 in is 96 user units (CSS Values and Units 4, section 6.2)."""
    assert measures(read(tmp_path, body)) == [(300.0, 200.0)]


@pytest.mark.parametrize(
    "hidden",
    [
        'style="display:none"',
        'display="none"',
        'visibility="hidden"',
        'stroke="none"',
        'style="stroke: none; fill: #eee"',
        'class="x"',
        'id="paper"',
    ],
)
def test_what_is_not_to_be_seen_is_no_piece(hidden: str, tmp_path: Path) -> None:
    css = ".z { stroke: black } .x, .y{stroke:none}/* #paper{} */ #paper{display:none}"
    body = f'<style>{css}</style><path {hidden} d="M 0 0 H 900 V 900 H 0 Z"/><path d="{BOX}"/>'
    found = read(tmp_path, body)
    assert measures(found) == [(300.0, 200.0)]
    assert sum(found.passed_over.values()) == 1


def test_the_weightier_rule_and_the_nearer_style_win(tmp_path: Path) -> None:
    """Selectors Level 4: an id outweighs a class, a class an element; style attributes win."""
    css = "<style>#a{stroke:red} .x{stroke:none} path{display:none}</style>"
    body = (
        f'{css}<path id="a" class="x" style="display:inline" d="{BOX}"/>'
        f'<path class="x" style="display:inline" d="{BOX}"/>'
    )
    assert measures(read(tmp_path, body)) == [(300.0, 200.0)]


LAYERS = """
<g id="layer1" editor:label="Cut lines"><path id="path12" d="M 0 0 H 500 V 300 H 0 Z M 50 50 H 90
 V 90 H 50 Z"/><path id="sleeve-band" d="M 600 0 H 900 V 300 H 600 Z"/></g>
<g id="layer2" editor:label="stitching_line"><path d="M 10 10 H 490 V 290 H 10 Z"/></g>
<g id="Grain"><path d="M 100 150 L 400 150"/></g>
<g class="notches"><path d="M 500 100 h -5"/><path d="M 601 40 h 5"/><path d="M 5000 0 h 5"/></g>
<g id="fold-line"><path d="M 600 0 V 300"/></g>
<g id="notes"><rect x="-50" y="-50" width="990" height="990"/></g>
<text x="250" y="200"><tspan x="250" y="200">Piece Name: pocket</tspan><tspan x="250" dy="9">
cut: 4</tspan><tspan x="250" dy="9">mirrored: 2</tspan></text>
"""


def test_layers_by_label_id_and_class(tmp_path: Path) -> None:
    found = read(tmp_path, LAYERS)
    pocket, band = found.pieces
    assert (pocket.name, pocket.cut, pocket.mirrored) == ("pocket", 4, 2)
    assert (band.name, band.cut, band.grain) == ("sleeve band", 1, None)
    assert [len(hole) for hole in pocket.cutouts] == [4]
    assert shapely.Polygon(pocket.stitching).area == pytest.approx(480 * 280)
    assert pocket.grain is not None
    assert np.allclose(pocket.grain, [[100, -150], [400, -150]])
    assert np.allclose(pocket.notches, [[500, -100]])
    assert np.allclose(band.notches, [[600, -40]])
    assert band.fold is not None
    assert dict(found.passed_over) == {
        "notches that belong to no piece, or to one that has its own": 1,
        "lines on other layers": 1,
    }
    made = {piece.name: piece for piece in job_of(found, tmp_path).pattern.pieces}
    assert made["sleeve band"].fold is not None
    assert made["pocket"].pair
    assert {edge.allowance_mm for edge in made["pocket"].edges.values()} == {10.0}


def test_a_stitching_line_alone_is_what_was_drawn(tmp_path: Path) -> None:
    found = read(tmp_path, f'<g id="seam-line"><path d="{BOX}"/></g>')
    assert [piece.line.value for piece in found.pieces] == ["stitching line"]
    assert job_of(found, tmp_path).pattern.pieces[0].line.value == "stitching line"


def test_a_line_inside_a_piece_is_not_guessed_at(tmp_path: Path) -> None:
    found = read(tmp_path, f'<path d="{BOX}"/><circle cx="250" cy="200" r="40"/>')
    assert measures(found) == [(300.0, 200.0)]
    assert found.passed_over == {
        "closed lines inside a piece, on no layer that says what they are": 1
    }


def test_pixels_are_no_size(tmp_path: Path) -> None:
    with pytest.raises(ScaleUnknown, match="does not say what one unit measures"):
        read(tmp_path, f'<path d="{BOX}"/>', 'width="1000" height="1000"')
    found = read(tmp_path, f'<path d="{BOX}"/>', 'width="1000"', unit_mm=25.4 / 96)
    assert measures(found) == [(79.38, 52.92)]


def test_names_that_a_job_cannot_hold_are_mended(tmp_path: Path) -> None:
    body = f'<path d="{BOX}"><title>front v1.2/b</title></path>' + (
        '<path d="M 500 0 h 90 v 90 Z"><title>side</title></path>'
        + '<path d="M 700 0 h 90 v 90 Z"><title>side</title></path>'
    )
    found = read(tmp_path, body)
    assert [piece.name for piece in found.pieces] == ["front v1 2 b", "side", "side 2"]
    assert len(found.changed) == 2


def test_a_blunt_corner_of_straight_lines_ends_an_edge_and_a_curve_does_not(tmp_path: Path) -> None:
    """A deep V neck turns by 18° where the fold begins; an arc is drawn by short chords."""
    sloped = "M 100 700 H 350 C 352 600 358 500 360 400 L 200 130 L 100 430 Z"
    drawn = read(tmp_path, f'<path id="front" d="{sloped}"/>')
    (front,) = job_of(drawn, tmp_path).pattern.pieces
    lengths = [edge_length_mm(front, name) for name in front.edges]
    assert lengths == pytest.approx([250.0, lengths[1], 313.8, 316.2, 270.0], abs=0.1)
