"""The picture of all pieces read: each once, true to one scale, with what was read of it."""

from __future__ import annotations

import numpy as np
import pytest

from marker.drawing.read_pieces import ReadPiece, draw_read
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import InnerMark, MarkKind

NONE = np.empty((0, 2))


def box(wide: float, high: float) -> FloatArray:
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=float)
    return np.asarray(corners + np.array([700.0, -300.0]))


FRONT = ReadPiece(
    name="front",
    words=("size 38, cut 1",),
    outline=box(300, 600),
    cutouts=(),
    stitching=box(280, 580) + 10.0,
    grain=np.array([[900.0, -200.0], [900.0, 200.0]]),
    fold=np.array([[700.0, -300.0], [700.0, 300.0]]),
    notches=np.array([[1000.0, 0.0]]),
    marks=(InnerMark(MarkKind.DRILL_HOLE, np.array([[800.0, 0.0]])),),
)


def plain(name: str, wide: float, high: float) -> ReadPiece:
    return ReadPiece(name, ("cut 2",), box(wide, high), (), NONE, None, None, NONE, ())


def test_a_piece_has_all_that_was_read_of_it() -> None:
    (page,) = draw_read("choir dress", ["a square of 100 mm measures 99.9 mm"], [FRONT])
    assert {"front", "size 38, cut 1", "a square of 100 mm measures 99.9 mm"} <= set(page.texts)
    assert any(text.startswith("30 cm") for text in page.texts)
    assert any(text.startswith("60 cm") for text in page.texts)
    for name in ("outline", "stitching", "fold", "grain", "notch", "drill hole"):
        assert page.named(name), name
    (notch,) = page.named("notch")[0].runs
    outline = page.named("outline")[0].runs[0]
    assert notch[0][0] == pytest.approx(outline[:, 0].max())
    assert notch[1][0] < notch[0][0], "it points into the piece"


def test_all_pieces_have_one_scale_and_none_lies_over_another() -> None:
    pieces = [plain(f"p{k}", 90.0 + 7 * k, 400.0 - 9 * k) for k in range(15)]
    (page,) = draw_read("choir dress", [], pieces)
    drawn = {shape.part: shape.runs[0] for shape in page.named("outline")}
    assert set(drawn) == {piece.name for piece in pieces}
    scales = [np.ptp(piece.outline, axis=0) / np.ptp(drawn[piece.name], axis=0) for piece in pieces]
    assert np.ptp(scales) < 1e-6
    boxes = [(run.min(axis=0), run.max(axis=0)) for run in drawn.values()]
    for k, (low, high) in enumerate(boxes):
        assert (low > 0).all()
        assert (high < (page.width, page.height)).all()
        for other_low, other_high in boxes[:k]:
            assert (high < other_low).any() or (other_high < low).any()


def test_many_pieces_take_more_pages() -> None:
    pages = draw_read("choir dress", [], [plain(f"p{k}", 200, 300) for k in range(45)])
    assert len(pages) <= 3
    parts = [shape.part for page in pages for shape in page.named("outline")]
    assert sorted(parts) == sorted(f"p{k}" for k in range(45))
