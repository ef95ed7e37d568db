"""Photos as pieces of a pattern: folds and grain named or marked, and pictures to check by eye."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path

import numpy as np
import shapely

from marker.errors import Fault, FaultyInput
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.photo.looking import Seen, look_at
from marker.exchange.photo.picture import Bytes, pictures, vision
from marker.exchange.photo.pieces import Measured, edges_of
from marker.exchange.photo.reading import PhotoRead, measured
from marker.exchange.photo.reference import Reference
from marker.files.budget import Most
from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.tolerances import STRAIGHT_MM
from marker.words import counted

_MARKED_WITHIN_MM, _ALONG = 15.0, np.cos(np.radians(4.0))  # of a red line to the edge it names

Edge = tuple[int, int]
"""A piece and an edge of it, as numbered in the picture to check by."""


@dataclass(frozen=True)
class Taken:
    """How photos were taken, and what is told of the pieces in them.

    lines : pieces are drawn as lines; else they are cut out. scanned : by a scanner, without a
    lens. names : of the pieces in order, () for
    numbers. folds : edges that lie on the fold. grains : edges that the grain runs along.
    """

    reference: Reference
    lines: bool = False
    scanned: bool = False
    names: tuple[str, ...] = ()
    folds: tuple[Edge, ...] = ()
    grains: tuple[Edge, ...] = ()


@dataclass(frozen=True)
class PhotosRead:
    """The pieces in photos. plus_minus_mm : how sure each is. checks : name of file -> a picture
    with what was found. changed : what was taken so."""

    pieces: tuple[FlatPiece, ...]
    photos: tuple[PhotoRead, ...]
    plus_minus_mm: tuple[float, ...]
    checks: Mapping[str, bytes]
    changed: tuple[str, ...]

    @property
    def specks(self) -> int:
        """Specks of dust that were dropped."""
        return sum(photo.specks for photo in self.photos)


def read_photos(paths: Sequence[Path], taken: Taken) -> PhotosRead:
    """The pieces that photos, scans or PDFs of scans show. Raises FaultyInput, each fault with its
    file and what to do better."""
    seen = _looked_at(paths, taken)
    place = FaultList(paths[0] if len(paths) == 1 else Path(", ".join(map(str, paths))))
    with place.gathering(""):
        found, told = measured(seen, taken.reference)
        if not found:
            raise _nothing(taken.lines)
        _refuse_strange_numbers(found, taken)
        changed: list[str] = []
        pieces = [_piece(k, each, taken, changed) for k, each in enumerate(found, 1)]
        checks = {
            f"photo-{photo.number + 1}-found.jpg": _check_picture(
                photo.shown,
                [
                    (k, each.edges_in_photo)
                    for k, each in enumerate(found, 1)
                    if each.photo == photo.number
                ],
            )
            for photo in seen
        }
        sure = tuple(each.plus_minus_mm for each in found)
        return PhotosRead(tuple(pieces), tuple(told), sure, checks, tuple(changed))
    raise FaultyInput(place.found)


def _looked_at(paths: Sequence[Path], taken: Taken) -> list[Seen]:
    seen: list[Seen] = []
    faults: list[Fault] = []
    with FaultList(paths[0], found=faults).gathering(""):
        Most.PHOTOS.demand(len(paths))
    if faults:
        raise FaultyInput(faults)
    for path in paths:
        with FaultList(path, found=faults).gathering(""):
            for picture in pictures(path, taken.scanned):
                seen.append(look_at(picture, len(seen), taken.reference, taken.lines))
    if faults:
        raise FaultyInput(faults)
    return seen


def _nothing(lines: bool) -> Unusable:
    if lines:
        return Unusable(
            "no closed dark line is seen in it",
            "Draw over each outline with a dark pen, and close it",
        )
    return Unusable(
        "no piece stands out from the ground",
        "Lay the pieces on a ground of another colour; for pieces drawn as lines say --lines",
    )


def _refuse_strange_numbers(found: Sequence[Measured], taken: Taken) -> None:
    if taken.names and len(taken.names) != len(found):
        raise Unusable(
            f"there are {counted(len(found), 'piece')} and {counted(len(taken.names), 'name')}",
            "Name each piece once, in the order of the numbers in the picture with what was found",
        )
    for word, edges in (("--fold", taken.folds), ("--grain", taken.grains)):
        for piece, edge in edges:
            if not 1 <= piece <= len(found):
                raise Unusable(
                    f"{word} {piece}.{edge}: there is no piece {piece}",
                    f"They are numbered from 1 to {len(found)}",
                )
            count = len(edges_of(found[piece - 1].outline))
            if not 1 <= edge <= count:
                raise Unusable(
                    f"{word} {piece}.{edge}: piece {piece} has no edge {edge}",
                    f"Its edges are numbered from 1 to {count}",
                )


def _piece(number: int, found: Measured, taken: Taken, changed: list[str]) -> FlatPiece:
    name = taken.names[number - 1] if taken.names else f"piece {number}"
    piece = FlatPiece(name, found.outline)
    if not taken.lines and found.holes:
        changed.append(f"{name}: whole, though the ground shows in {counted(found.holes, 'place')}")
    if taken.lines and found.holes > 1:
        changed.append(f"{name}: lines inside meet its outline; the outermost line was taken")
    edges = edges_of(found.outline)
    fold = _fold(number, found, taken, edges)
    if fold is not None:
        piece = replace(piece, fold=fold)
    told = [edges[edge - 1] for own, edge in taken.grains if own == number]
    if told:
        return replace(piece, grain=_upward(told[0][[0, -1]]))
    if len(found.arrows) == 1:
        return replace(piece, grain=found.arrows[0])
    if len(found.arrows) > 1:
        changed.append(f"{name}: {len(found.arrows)} arrows are drawn on it, none was taken")
    if fold is not None:
        changed.append(f"the grain of {name}: along its fold")
        return replace(piece, grain=_upward(fold))
    return piece


def _fold(
    number: int, found: Measured, taken: Taken, edges: Sequence[FloatArray]
) -> FloatArray | None:
    """The ends of the edge on the fold: the one named, or the one that a red line runs along."""
    named = [edge for own, edge in taken.folds if own == number]
    if len(named) > 1:
        raise Unusable(f"piece {number} has two folds", "Name one; draw the piece opened at it")
    if named:
        if not _is_straight(edges[named[0] - 1]):
            raise Unusable(
                f"--fold {number}.{named[0]}: this edge is not straight",
                "Name a straight edge, as numbered in the picture with what was found",
            )
        return np.asarray(edges[named[0] - 1][[0, -1]])
    marked = [
        edge
        for edge in edges
        if _is_straight(edge) and any(_names(red, edge) for red in found.reds)
    ]
    return np.asarray(marked[0][[0, -1]]) if len(marked) == 1 else None


def _is_straight(edge: FloatArray) -> bool:
    line = shapely.LineString(edge[[0, -1]])
    return bool(shapely.distance(shapely.points(edge), line).max() <= STRAIGHT_MM)


def _names(red: FloatArray, edge: FloatArray) -> bool:
    """Whether a red line runs along an edge."""
    line = shapely.LineString(edge[[0, -1]])
    near = shapely.distance(shapely.points(red), line).max() <= _MARKED_WITHIN_MM
    a, b = red[1] - red[0], edge[-1] - edge[0]
    return bool(near and abs(a @ b) >= _ALONG * np.hypot(*a) * np.hypot(*b))


def _upward(ends: FloatArray) -> FloatArray:
    """A direction that was not drawn, so that it points up, or to the right."""
    (dx, dy) = ends[1] - ends[0]
    return ends if (dy, dx) > (0.0, 0.0) else ends[::-1]


_LONG_SIDE_PX = 2000
_LINE, _INK = (170, 0, 100), (255, 255, 255)
_QUALITY = 85


def _check_picture(shown: Bytes, pieces: Sequence[tuple[int, Sequence[FloatArray]]]) -> bytes:
    """A JPEG of the photo with the edges (k, 2) of each piece in its pixels, all numbered."""
    from PIL import Image

    cv2 = vision()
    scale = min(1.0, _LONG_SIDE_PX / max(shown.shape[:2]))
    picture = cv2.resize(shown, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    for number, edges in pieces:
        drawn = [(edge + 0.5) * scale - 0.5 for edge in edges]
        for edge in drawn:
            ends = [np.round(edge * 16).astype(np.int32)]
            cv2.polylines(picture, ends, False, _LINE, 2, cv2.LINE_AA, 4)
            cv2.circle(picture, np.round(edge[0]).astype(int).tolist(), 5, _LINE, -1, cv2.LINE_AA)
        whole = shapely.Polygon(np.concatenate([edge[:-1] for edge in drawn]))
        inside = whole.representative_point()
        _write(picture, str(number), (inside.x, inside.y), 1.4)
        if len(drawn) > 1:
            for k, edge in enumerate(drawn, 1):
                middle = shapely.LineString(edge).interpolate(0.5, normalized=True)
                _write(picture, f"{number}.{k}", (middle.x, middle.y), 0.6)
    content = BytesIO()
    Image.fromarray(picture).save(content, "JPEG", quality=_QUALITY)
    return content.getvalue()


def _write(picture: Bytes, text: str, at: tuple[float, float], size: float) -> None:
    """A text about a place, on a ground of its own, so that it is read everywhere."""
    cv2 = vision()
    font, thick, margin = cv2.FONT_HERSHEY_SIMPLEX, max(1, round(2 * size)), round(4 + 4 * size)
    (wide, high), _ = cv2.getTextSize(text, font, size, thick)
    x, y = round(at[0] - wide / 2), round(at[1] + high / 2)
    corner = (x + wide + margin, y - high - margin)
    cv2.rectangle(picture, (x - margin, y + margin), corner, _LINE, -1)
    cv2.putText(picture, text, (x, y), font, size, _INK, thick, cv2.LINE_AA)
