"""The pieces that a pattern file shows: a job's side by side, or a layout's where they lie."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from marker.exchange.cloth_facts import ClothFacts, facts_of
from marker.exchange.flat_piece import FlatPiece, flat_piece
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import inward_at
from marker.job import Job
from marker.layout import CheckedLayout
from marker.tolerances import JUDGED_MM

BETWEEN_MM = 30.0
_ROW_MM = 2000.0
NOTCH_MM = 5.0
_CROSS_MM = 2.0


@dataclass(frozen=True)
class Sheet:
    """Pieces that lie clear of one another, mm, y up, nothing left of or below (0, 0).

    title : of the pattern. size : the sample size, "" when there is none.
    width_mm, height_mm : of all of it.
    cloth : the pieces are laid on cloth of that width (x) and height (y).
    cloths : what they are cut from.
    """

    title: str
    size: str
    pieces: tuple[FlatPiece, ...]
    width_mm: float
    height_mm: float
    cloth: bool = False
    cloths: tuple[ClothFacts, ...] = ()


def pattern_sheet(job: Job) -> Sheet:
    """Everything one garment of each size is cut from: whole, allowances added, grain along +x.

    Raises CannotBeDone for a piece that can't be cut.
    """
    pieces = [piece for size in job.sizes for piece in pieces_of(job, size)]
    return replace(sheet(job.name, job.size, pieces), cloths=tuple(map(facts_of, job.cloths)))


def pieces_of(job: Job, size: str) -> list[FlatPiece]:
    """Everything one garment of a size is cut from, as in `pattern_sheet`."""
    return [
        _in_words_of_the_job(job, flat_piece(piece))
        for cloth in job.cloths
        for piece in job.with_order({size: 1}).cut_pieces(cloth)
    ]


def _in_words_of_the_job(job: Job, piece: FlatPiece) -> FlatPiece:
    """The cloth goes without saying where the job has one only."""
    return piece if len(job.cloths) > 1 else replace(piece, cloth="")


def sheet(title: str, size: str, pieces: Iterable[FlatPiece]) -> Sheet:
    """Pieces in rows, beside and above one another."""
    placed: list[FlatPiece] = []
    x = y = top = right = BETWEEN_MM
    for piece in pieces:
        low, high = piece.outline.min(axis=0), piece.outline.max(axis=0)
        across, up = high - low
        if x > BETWEEN_MM and x + across > _ROW_MM:
            x, y = BETWEEN_MM, top
        placed.append(piece.moved(np.array([x, y]) - low))
        x += across + BETWEEN_MM
        right, top = max(right, x), max(top, y + up + BETWEEN_MM)
    return Sheet(title, size, tuple(placed), float(right), float(top))


def layout_sheet(checked: CheckedLayout) -> Sheet:
    """The pieces of a checked layout where they lie on the cloth opened flat, spares with them. x
    runs along the cloth, y across it from the near selvage, or from below it where a piece goes
    around a tube."""
    layout = checked.layout
    patterns = {(piece.name, piece.size): flat_piece(piece) for piece in checked.cut_pieces}
    several = len(checked.garments) > 1
    pieces: list[FlatPiece] = []
    for place in (*layout.placements, *layout.spares):
        laid = patterns[place.piece, place.size].turned(place.rotation_deg, place.mirrored)
        laid = laid.moved(np.array([place.x_mm, place.y_mm]))
        words = [
            f"garment {place.garment}" if several else "",
            f"copy {place.copy}",
            "spare, not needed" if len(pieces) >= len(layout.placements) else "",
            laid.note,
        ]
        note = ", ".join(filter(None, words))
        pieces.append(replace(laid, outline=place.outline_mm, cut=1, mirrored=0, note=note))
    below = min(0.0, *(float(piece.outline[:, 1].min()) for piece in pieces))
    shift = np.array([0.0, -below if below < -JUDGED_MM else 0.0])
    return Sheet(
        title=f"{layout.job_name}, {layout.cloth.name}",
        size="",
        pieces=tuple(piece.moved(shift) for piece in pieces),
        width_mm=layout.length_mm,
        height_mm=layout.cloth.usable_width_mm + float(shift[1]),
        cloth=True,
        cloths=(facts_of(layout.cloth),),
    )


def notch_ticks(piece: FlatPiece) -> Iterator[FloatArray]:
    """Each notch as a short line (2, 2) from the outline square into the piece."""
    for point in piece.notches:
        inward = np.array(inward_at(piece.outline, point))
        yield np.array([point, point + NOTCH_MM * inward])


def dashes(points: FloatArray, on_mm: float, off_mm: float) -> Iterator[FloatArray]:
    """A polyline (n, 2) in dashes, for what can't draw dashed lines itself."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    reached = np.concatenate([[0.0], np.cumsum(steps)])
    for start in np.arange(0.0, reached[-1], on_mm + off_mm):
        end = min(start + on_mm, reached[-1])
        inside = reached[(reached > start) & (reached < end)]
        at = np.concatenate([[start], inside, [end]])
        yield np.column_stack([np.interp(at, reached, points[:, k]) for k in (0, 1)])


def cross(at: FloatArray) -> Iterator[FloatArray]:
    """A point as two short lines, (2, 2) each."""
    for arm in np.array([[_CROSS_MM, 0.0], [0.0, _CROSS_MM]]):
        yield np.array([at - arm, at + arm])


def ring(points: FloatArray) -> FloatArray:
    """An outline as a polyline that ends where it began."""
    return np.vstack([points, points[:1]])


def unique_names(names: Sequence[str]) -> list[str]:
    """Each name, numbered from its second use on."""
    found: list[str] = []
    taken = set(names)
    for name in names:
        number, own = 1, name
        while own in found or (number > 1 and own in taken):
            number += 1
            own = f"{name} {number}"
        found.append(own)
    return found
