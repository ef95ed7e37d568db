"""Pieces by themselves, one drawing for all copies: to be ticked off, or printed full size, whole
or as half on the fold, in one size or nested in several."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import repeat

import numpy as np

from marker.cloth.fabric import Nap
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing, folded, half, piece_drawing
from marker.geometry.arrays import FloatArray
from marker.geometry.polygons import turned
from marker.layout import CheckedLayout, Placement
from marker.pattern.bands.strip import Strip, lengthwise
from marker.pattern.inner_marks import InnerMark
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece, Piece
from marker.tolerances import SAME_LINE_MM
from marker.units import cut_length
from marker.words import counted

Facts = Mapping[tuple[str, str], tuple[str, ...]]
"""Name, as drawings have it, and size of a piece -> what else is said of it, line by line."""


_APART_MM = 10.0  # of pieces on the same pages
_CORNER = np.zeros(2)


@dataclass(frozen=True)
class SinglePiece:
    """One piece in one size.

    drawing : unturned, grain along +x, its box starting at (0, 0), its number the first of its
        copies. Pieces on the fold are whole, as they are laid; the fold is drawn.
    laid : its outlines on the table; two copies may come of one.
    count, mirrored : copies to be cut, and how many of them are.
    """

    drawing: PieceDrawing
    laid: tuple[PieceDrawing, ...]
    count: int
    mirrored: int


def single_pieces(checked: CheckedLayout, scene: Scene) -> list[SinglePiece]:
    """Every piece of every size that is laid in `scene`, in the pattern's order."""
    nap = checked.layout.cloth.nap is not Nap.EITHER_WAY
    found = []
    for pattern in checked.cut_pieces:
        drawing = piece_drawing(_unturned(pattern), pattern, nap, several=False)
        like = (drawing.name, drawing.size)
        laid = tuple(each for each in scene.pieces if (each.name, each.size) == like)
        copies = [
            place
            for place in checked.layout.placements
            if (place.piece, place.size) == (pattern.name, pattern.size)
        ]
        if copies:
            mirrored = sum(place.mirrored for place in copies)
            cut = _cut_words(len(copies), mirrored)
            numbered = replace(drawing, number=laid[0].number, cut=cut)
            found.append(SinglePiece(numbered, laid, len(copies), mirrored))
    return found


def _unturned(pattern: CutPiece) -> Placement:
    """Where a piece by itself is drawn: grain along +x, its box starting at (0, 0)."""
    return Placement(pattern.name, pattern.size, 1, 1, 0.0, False, 0.0, 0.0, pattern.outline)


def _cut_words(count: int, mirrored: int) -> str:
    """'cut 1 pair', 'cut 3', 'cut 3 · 1 of them mirrored'."""
    if 2 * mirrored == count:
        return f"cut {counted(mirrored, 'pair')}"
    return f"cut {count}" + (f" · {mirrored} of them mirrored" if mirrored else "")


@dataclass(frozen=True)
class PrintedPieces:
    """What single pieces are printed from.

    patterns : every piece in the sizes laid, its curves as fine as they are drawn. in_sizes : the
    same in each size that is nested, size by size; none for the size laid alone.
    halves : pieces on the fold as one half. nap : the cloth has one.
    """

    patterns: Sequence[CutPiece]
    facts: Facts
    in_sizes: Sequence[Sequence[CutPiece]]
    halves: bool
    nap: bool

    def scenes(self, whole: Scene, singles: Iterable[SinglePiece]) -> list[Scene]:
        """A scene for each of these pieces in its size, or for all sizes of it where they nest.

        whole : of the layout.
        """
        return [self._scene(whole, [self._drawing(each)]) for each in self._once(singles)]

    def together(self, whole: Scene, singles: Iterable[SinglePiece], high_mm: float) -> Scene:
        """One scene of all of them, in columns no higher than that, or than the highest piece."""
        listed = self._once(singles)
        boxes = [_extent([self._drawing(each)]) for each in listed]
        places = _in_columns(boxes, high_mm)
        return self._scene(whole, list(map(self._drawing, listed, places)))

    def _once(self, singles: Iterable[SinglePiece]) -> list[SinglePiece]:
        """Each piece once for all its sizes where they nest."""
        listed = list(singles)
        return list({e.drawing.name: e for e in listed}.values()) if self.in_sizes else listed

    def _scene(self, whole: Scene, pieces: Sequence[PieceDrawing]) -> Scene:
        length, width = _extent(pieces)
        return replace(
            whole,
            length_mm=float(length),
            width_mm=float(width),
            end_mm=0.0,
            selvage_mm=0.0,
            areas=(),
            pieces=tuple(sorted(pieces, key=lambda piece: piece.number)),
            sizes=tuple(of_size[0].size for of_size in self.in_sizes if of_size),
        )

    def _drawing(self, single: SinglePiece, at: FloatArray = _CORNER) -> PieceDrawing:
        """The piece, the smallest of its sizes first, all from one corner, their box at a point."""
        name = single.drawing.name
        own = next(e for e in self.patterns if _key(e) == (name, single.drawing.size))
        sizes = [e for of_size in self.in_sizes for e in of_size if _key(e)[0] == name] or [own]
        outlines = [self._anchored(each) for each in sizes]
        low = np.min([each.outline.min(axis=0) for each, _ in outlines], axis=0)
        drawn = [self._drawn(each, to_fold, at - low) for each, to_fold in outlines]
        order = sorted(drawn, key=lambda each: float(np.ptp(each.outline, axis=0).sum()))
        on_fold = self.halves and own.fold_line is not None
        return replace(
            order[0],
            number=single.drawing.number,
            cut=self._cut(own, single) + " on the fold" * on_fold,
            facts=self.facts.get(_key(own), ()),
            others=tuple(order[1:]),
        )

    def _cut(self, own: CutPiece, single: SinglePiece) -> str:
        """How many are cut: for the order, or for one garment where sizes are nested."""
        if self.in_sizes:
            return _cut_words(own.copies + own.mirrored_copies, own.mirrored_copies)
        return _cut_words(single.count, single.mirrored)

    def _anchored(self, pattern: CutPiece) -> tuple[CutPiece, FloatArray | None]:
        """The piece with the first end of its fold at (0, 0), else the corner of its box.

        Then the edge to place on the fold, where only the half is drawn.
        """
        fold = pattern.fold_line
        if fold is None:
            return pattern, None
        moved = pattern.mapped(lambda points: points - fold[0])
        return _halved(moved, fold - fold[0]) if self.halves else (moved, None)

    def _drawn(self, pattern: CutPiece, fold: FloatArray | None, by: FloatArray) -> PieceDrawing:
        moved = pattern.mapped(lambda points: points + by)
        drawing = piece_drawing(_unturned(moved), moved, self.nap, several=False)
        return replace(drawing, to_fold=None if fold is None else fold + by)


def _key(pattern: CutPiece) -> tuple[str, str]:
    """Name, as drawings have it, and size."""
    return " ".join(pattern.name.split()), pattern.size


def _halved(piece: CutPiece, fold: FloatArray) -> tuple[CutPiece, FloatArray]:
    """The half of a piece as it was drawn, left of its fold (2, 2), and its edge on that fold.

    The half lies on the right of the way along that edge. Notches and marks of the other half lie
    where they come when the piece is folded.
    """
    way = fold[1] - fold[0]
    angle = float(np.degrees(np.arctan2(way[1], way[0])))

    def lying(points: FloatArray) -> FloatArray:
        return np.asarray(turned(points - fold[0], -angle, mirrored=False))

    def back(points: FloatArray) -> FloatArray:
        return np.asarray(turned(points, angle, mirrored=False) + fold[0])

    flat = piece.mapped(lying)
    outline = half(flat.outline, 0.0, above=True)
    edge = outline[np.abs(outline[:, 1]) < SAME_LINE_MM]
    ends = edge[[np.argmax(edge[:, 0]), np.argmin(edge[:, 0])]]
    holes = (half(hole, 0.0, above=True) for hole in flat.cutouts)
    notches, letters = _notches_once(flat)
    cut = replace(
        flat,
        outline=outline,
        stitching=half(flat.stitching, 0.0, above=True),
        cutouts=tuple(hole for hole in holes if len(hole)),
        notches=notches,
        notch_letters=letters,
        inner_marks=_marks_once(
            mark.mapped(lambda points: folded(points, 0.0, 1.0)) for mark in flat.inner_marks
        ),
        fold_line=None,
        match_points=(),
        border=None,
    )
    return cut.mapped(back), back(ends)


def _notches_once(flat: CutPiece) -> tuple[FloatArray, tuple[str, ...]]:
    """The notches (n, 2) of a piece whose fold lies along the x axis, folded onto the half above,
    and their letters. What comes to lie on one another once, with the letters of both."""
    points: list[FloatArray] = []
    letters: list[str] = []
    for notch, letter in zip(flat.notches, flat.notch_letters or repeat(""), strict=False):
        point = folded(notch[np.newaxis], 0.0, 1.0)[0]
        near = [k for k, other in enumerate(points) if np.hypot(*(point - other)) < SAME_LINE_MM]
        if not near:
            points.append(point)
            letters.append(letter)
        elif letter not in letters[near[0]].split("/"):
            letters[near[0]] = "/".join(filter(None, [letters[near[0]], letter]))
    return np.array(points).reshape(-1, 2), tuple(letters)


def _marks_once(marks: Iterable[InnerMark]) -> tuple[InnerMark, ...]:
    kept: list[InnerMark] = []
    for mark in marks:
        if not any(_same(mark, other) for other in kept):
            kept.append(mark)
    return tuple(kept)


def _same(one: InnerMark, other: InnerMark) -> bool:
    """Two marks that a fold lays on one another, drawn either way."""
    if one.kind is not other.kind or one.points.shape != other.points.shape:
        return False
    apart = (np.abs(one.points - points).max() for points in (other.points, other.points[::-1]))
    return float(min(apart)) < SAME_LINE_MM


def _extent(pieces: Iterable[PieceDrawing]) -> FloatArray:
    """The upper right corner of all their sizes, (2,)."""
    outlines = [each.outline for piece in pieces for each in piece.in_all_sizes]
    return np.asarray(np.vstack(outlines).max(axis=0))


def _in_columns(boxes: Sequence[FloatArray], high_mm: float) -> list[FloatArray]:
    """The lower left corner of each box (width, height): side by side in columns, the longest
    first, each column filled up from its foot."""
    high = max(high_mm, *(float(box[1]) for box in boxes))
    places = [_CORNER] * len(boxes)
    x = y = wide = 0.0
    for k in sorted(range(len(boxes)), key=lambda k: -float(boxes[k][0])):
        width, height = boxes[k].tolist()
        if y and y + height > high:
            x, y, wide = x + wide + _APART_MM, 0.0, 0.0
        places[k] = np.array([x, y])
        y, wide = y + height + _APART_MM, max(wide, width)
    return places


def pattern_facts(pattern: Pattern) -> Facts:
    """The cloth and the allowances of each piece and strip."""
    said: dict[str, tuple[str, ...]] = {
        each.name: (each.cloth, _allowance_words(each)) for each in pattern.pieces
    }
    said |= {each.name: (each.cloth, *_strip_words(each)) for each in pattern.strips}
    return {(" ".join(name.split()), pattern.size): facts for name, facts in said.items()}


def _strip_words(strip: Strip) -> Iterator[str]:
    """'allowance 10 mm, finishes 35 mm', where the job says how it is folded."""
    if strip.fold is None or strip.finished_mm is None:
        return
    allowance = lengthwise(strip).stitching[:1]
    words = [f"allowance {cut_length(mm)}" for mm in allowance]
    yield ", ".join([*words, f"finishes {cut_length(strip.finished_mm)}"])


def _allowance_words(piece: Piece) -> str:
    """'allowance 10 mm, neck 12.7 mm, hem 25 mm': the piece's own first."""
    own = [f"allowance {cut_length(piece.allowance_mm)}"] if piece.allowance_mm else []
    others: dict[str, list[str]] = {}
    for name, edge in piece.edges.items():
        wanted = edge.hem.allowance_mm if edge.hem else edge.allowance_mm
        if wanted is not None and wanted != piece.allowance_mm:
            others.setdefault(cut_length(wanted) if wanted else "none", []).append(name)
    words = [*own, *(f"{' and '.join(names)} {wide}" for wide, names in others.items())]
    if not words:
        return "no allowance"
    return ", ".join(words if own else [f"allowance: {words[0]}", *words[1:]])
