"""The nest drawing: pieces in all their sizes, from the first corner, each size at scale."""

from __future__ import annotations

import re
from io import BytesIO

import numpy as np
import pytest
import shapely
from pypdf import PdfReader

from marker.drawing.nest import nests, render_nest
from marker.drawing.size_names import named_sizes
from tests.pieces.garments import job_of


def test_sizes_lie_over_one_another_from_the_first_corner() -> None:
    """The dress's first corner is the waist at the fold: there all sizes meet, and the fold runs
    straight up from it in each."""
    front = next(nest for nest in nests(job_of("choir-dress")) if nest.name == "bodice front")
    assert list(front.outlines) == ["34", "36", "38", "40", "42", "44"]
    for outline in front.outlines.values():
        assert np.hypot(*outline.T).min() == pytest.approx(0)
        assert outline[:, 0].min() == pytest.approx(0, abs=0.01)


def test_a_trail_follows_its_rule() -> None:
    """The shirt's underarm moves by 10 across and by 4 down from size to size, the hem's corner by
    4, 3, 5 and 4 down (rules.toml). Seen from that, the underarm moves by the difference."""
    back = next(nest for nest in nests(job_of("shirt")) if nest.name == "back")
    steps = [np.diff(trail, axis=0) for trail in back.trails]
    underarm = [[10, 0], [10, -1], [10, 1], [10, 0]]
    assert any(np.allclose(step, underarm, atol=0.02) for step in steps)


def test_the_pages_are_drawn() -> None:
    drawn = render_nest(job_of("choir-dress"))
    assert set(drawn) == {"nest.pdf", "nest.svg", "nest.png"}
    assert len(re.findall(rb"<path", drawn["nest.svg"])) > 4 * 6


def test_every_size_is_named_on_a_leader_to_its_own_line() -> None:
    """On each piece of the dress, at a point of that size's outline that no other size passes."""
    front = next(nest for nest in nests(job_of("choir-dress")) if nest.name == "bodice front")
    lines = {size: (outline - front.low) / 6 for size, outline in front.outlines.items()}
    room = shapely.box(*(-8.0, -8.0), *(front.extent / 6 + 8.0))
    names = named_sizes(lines, room, 6.0, 0.1)
    assert sorted(name.size for name in names) == list(lines)
    for name in names:
        rings = {size: shapely.LinearRing(line) for size, line in lines.items()}
        away = {size: ring.distance(shapely.Point(name.point)) for size, ring in rings.items()}
        assert away.pop(name.size) < 1e-6
        assert min(away.values()) > 0.3
        assert room.contains(shapely.Point(name.at))
        assert not shapely.Polygon(lines["44"]).contains(shapely.Point(name.at))


def test_pieces_of_like_size_share_a_page_and_its_scale() -> None:
    """The shirt's fourteen pieces take three pages; its small ones are drawn larger than the front,
    and all names stand on the page."""
    drawn = render_nest(job_of("shirt"))
    pages = PdfReader(BytesIO(drawn["nest.pdf"])).pages
    assert len(pages) == 3
    scales = [float(re.findall(r"1 : ([\d.]+)", page.extract_text())[0]) for page in pages]
    assert max(scales) <= 5
    assert sum("alike in all sizes" in page.extract_text() for page in pages) == 1
