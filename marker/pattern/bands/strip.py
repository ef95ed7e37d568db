"""Bands, bindings, belts and ties as the job asks for them: straight strips of cloth."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from marker.cloth.behaviour import Direction


class Fold(StrEnum):
    """How a strip is folded lengthwise when it is sewn.

    FLAT : one layer, sewn along both long edges.
    SINGLE : two layers, folded once, both raw edges in the seam.
    DOUBLE : four layers, the raw edges folded to the middle: a binding around an edge.
    """

    FLAT = "flat"
    SINGLE = "single"
    DOUBLE = "double"


class Join(StrEnum):
    """How ends of a strip are joined: square across, or on the diagonal."""

    STRAIGHT = "straight"
    DIAGONAL = "diagonal"


class AtPoint(StrEnum):
    """How a band is made to go round a corner of its opening.

    MITRED : folded or sewn along the line that halves the corner.
    LAPPED : its ends lie over one another there, each caught in the other side's seam.
    """

    MITRED = "mitred"
    LAPPED = "lapped"


class Lies(StrEnum):
    """FLAT : a band in the plane of its opening, as around a neck. STANDING : one that stands up
    from it, such as a waistband, a cuff or a collar stand: its far edge is as long as its seam."""

    FLAT = "flat"
    STANDING = "standing"


class LapKind(StrEnum):
    """How an end of a band passes the other: beneath it or above it."""

    UNDER = "underlap"
    OVER = "overlap"


@dataclass(frozen=True)
class Lap:
    """What a band goes on beyond the end of its opening, finished."""

    kind: LapKind
    mm: float


@dataclass(frozen=True)
class Interfacing:
    """A second strip that stiffens the first.

    trim_mm : how much smaller it is on each side than the strip as cut.
    """

    cloth: str
    trim_mm: float


@dataclass(frozen=True)
class CutLength:
    """Cut to this length, mm."""

    mm: float


@dataclass(frozen=True)
class ByRatio:
    """Between its joins this share of the opening's stitching line."""

    ratio: float


@dataclass(frozen=True)
class ShorterBy:
    """Between its joins this much shorter than the opening's stitching line, mm."""

    mm: float


@dataclass(frozen=True)
class LiesFlat:
    """Between its joins so long that it lies flat.

    That is the opening's length less what smooth turns take from it the finished width inside. At a
    corner its straight sides keep their length.
    """


Length = CutLength | ByRatio | ShorterBy | LiesFlat


@dataclass(frozen=True)
class Strip:
    """A straight strip, cut to a length given, or derived from the opening it finishes.

    width_mm : cut width.
    finished_mm : width once folded and sewn, None where the job does not say how it is folded.
    finishes : name of the opening, '' for a strip cut to a given length.
    unstretched : pairs of the opening's points; between each two, by the shorter way, the band is
        sewn on without stretching.
    join_at : the point of the opening where a ring is closed, '' to choose one.
    joins_clear_of : points that no join may come near, None for centre front and shoulders.
    join_allowance_mm : seam allowance at each straight join, and at each end of a derived length
        that is not closed.
    point : how it goes round a corner of its opening.
    lies : in the plane of its opening, or standing up from it.
    start_lap, end_lap : at the first and the last end of an opening that is not closed.
    interfacing : what it is interfaced with; None for nothing.
    least_parts : it is cut in so many parts or more, even where the cloth yields longer ones.
    """

    name: str
    cloth: str
    width_mm: float
    length: Length
    finishes: str = ""
    fold: Fold | None = None
    finished_mm: float | None = None
    unstretched: tuple[tuple[str, str], ...] = ()
    join_at: str = ""
    joins_clear_of: tuple[str, ...] | None = None
    direction: Direction = Direction.CROSSGRAIN
    join: Join = Join.STRAIGHT
    join_allowance_mm: float = 10.0
    cut: int = 1
    least_parts: int = 1
    point: AtPoint = AtPoint.MITRED
    lies: Lies = Lies.FLAT
    start_lap: Lap | None = None
    end_lap: Lap | None = None
    interfacing: Interfacing | None = None

    @property
    def laps_mm(self) -> tuple[float, float]:
        """What it goes on beyond the first and the last end of its opening."""
        start, end = (lap.mm if lap else 0.0 for lap in (self.start_lap, self.end_lap))
        return start, end

    @property
    def cloths(self) -> set[str]:
        """Names of the cloths that it is cut from."""
        return {self.cloth} | ({self.interfacing.cloth} if self.interfacing else set())

    @property
    def lost_in_join_mm(self) -> float:
        """What a join takes from the lengths it joins.

        Straight, two allowances; on the diagonal, the width: the square ends cross at a right
        angle and are sewn from corner to corner (geometry).
        """
        return self.width_mm if self.join is Join.DIAGONAL else 2 * self.join_allowance_mm


def interfacing_name(strip: str) -> str:
    """What the interfacing of a strip is called."""
    return f"{strip} interfacing"


@dataclass(frozen=True)
class Lengthwise:
    """Lines along a strip, mm from the edge that meets the opening."""

    stitching: tuple[float, ...] = ()
    folds: tuple[float, ...] = ()


def lengthwise(strip: Strip) -> Lengthwise:
    """Where it is stitched and folded; nothing where the job does not say how it is folded."""
    if strip.fold is None or strip.finished_mm is None:
        return Lengthwise()
    width, finished = strip.width_mm, strip.finished_mm
    if strip.fold is Fold.DOUBLE:
        return Lengthwise((finished,), (finished, width / 2, width - finished))
    allowance = (width - layers(strip.fold) * finished) / 2
    stitching = (allowance, width - allowance) if allowance > 0 else ()
    return Lengthwise(stitching, (width / 2,) if strip.fold is Fold.SINGLE else ())


def cut_width_mm(finished_mm: float, fold: Fold, seam_allowance_mm: float) -> float:
    """Cut width of a strip that finishes this wide.

    A double fold is cut four times its finished width (common practice, no source); its seam
    allowances are the quarters that lie inside.
    """
    if fold is Fold.DOUBLE:
        return 4 * finished_mm
    return layers(fold) * finished_mm + 2 * seam_allowance_mm


def finished_width_mm(cut_mm: float, fold: Fold, seam_allowance_mm: float) -> float:
    """Finished width of a strip cut this wide; below 0 when the allowances leave nothing."""
    if fold is Fold.DOUBLE:
        return cut_mm / 4
    return (cut_mm - 2 * seam_allowance_mm) / layers(fold)


def layers(fold: Fold) -> int:
    """How many times the finished width a strip lies in, its seam allowances apart."""
    return {Fold.FLAT: 1, Fold.SINGLE: 2, Fold.DOUBLE: 4}[fold]
