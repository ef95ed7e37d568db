"""A checked strip table as a Strip: how wide, how long, and the opening it finishes."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from marker.cloth.behaviour import Direction
from marker.errors import CannotBeDone
from marker.files.faults import FaultList, Unusable
from marker.jobfile.sewing_tables import StripTable
from marker.pattern.bands.band_length import point_fault
from marker.pattern.bands.opening_line import measured
from marker.pattern.bands.strip import (
    AtPoint,
    ByRatio,
    CutLength,
    Fold,
    Interfacing,
    Join,
    Lap,
    LapKind,
    Length,
    Lies,
    LiesFlat,
    ShorterBy,
    Strip,
    cut_width_mm,
    finished_width_mm,
)
from marker.pattern.piece import Piece
from marker.pattern.seams.sewing import Opening
from marker.units import cut_length

SEAM_ALLOWANCE_MM = 10.0
_LENGTHS = ("length", "ratio", "shorter_by", "lies_flat")
_OF_AN_OPENING = (
    "unstretched", "join_at", "joins_clear_of", "point", "underlap", "overlap",
)  # fmt: skip

# opening -> the names of its points, as written
OpeningPoints = Mapping[str, Collection[str]]


def strip_from(
    table: StripTable,
    cloth: str,
    openings: OpeningPoints,
    cloths: Collection[str],
    faults: FaultList,
) -> Strip:
    """The strip; every fault of it is noted, and a fault's place is taken by what does no harm."""
    width, finished = _widths(table, faults)
    length = _length(table, finished, faults)
    _check_points(table, openings, faults)
    start, end = _laps(table, faults)
    diagonal = table.direction is Direction.BIAS
    return Strip(
        name=table.name,
        cloth=cloth,
        width_mm=width,
        length=length,
        finishes=table.finishes or "",
        fold=table.fold,
        finished_mm=finished,
        unstretched=tuple((first, second) for first, second in table.unstretched),
        join_at=table.join_at or "",
        joins_clear_of=None if table.joins_clear_of is None else tuple(table.joins_clear_of),
        direction=table.direction,
        join=table.join or (Join.DIAGONAL if diagonal else Join.STRAIGHT),
        join_allowance_mm=table.join_allowance,
        cut=table.cut,
        least_parts=table.parts,
        point=table.point or AtPoint.MITRED,
        lies=table.lies,
        start_lap=start,
        end_lap=end,
        interfacing=_interfacing(table, width, cloths, faults),
    )


def _laps(table: StripTable, faults: FaultList) -> tuple[Lap | None, Lap | None]:
    """What is at either end of the band: an underlap, an overlap or nothing."""
    found: list[Lap | None] = []
    for end in ("start", "end"):
        under, over = (
            getattr(lap, end) if lap else None for lap in (table.underlap, table.overlap)
        )
        if under is not None and over is not None:
            faults.add(
                f"overlap.{end}",
                f"the {end} has an underlap, too",
                "Give one of the two for each end",
            )
        kind, mm = (LapKind.UNDER, under) if over is None else (LapKind.OVER, over)
        found.append(None if mm is None else Lap(kind, mm))
    return found[0], found[1]


def _interfacing(
    table: StripTable, width_mm: float, cloths: Collection[str], faults: FaultList
) -> Interfacing | None:
    asked = table.interfacing
    if asked is None:
        return None
    with faults.gathering("interfacing.cloth"):
        if asked.cloth not in cloths:
            raise Unusable.unknown("cloth", asked.cloth, cloths)
    if 2 * asked.trim >= width_mm:
        faults.add(
            "interfacing.trim",
            f"{cut_length(asked.trim)} off either side leave nothing of {cut_length(width_mm)} "
            "in width",
            "Give less",
        )
    return Interfacing(asked.cloth, asked.trim)


def check_band(
    table: StripTable,
    strip: Strip,
    pieces: Iterable[Piece],
    openings: Iterable[Opening],
    faults: FaultList,
) -> None:
    """Whether the band can go round the corners of its opening, and past its ends, as the table
    asks."""
    for opening in openings:
        if opening.name != strip.finishes:
            continue
        try:
            line = measured(pieces, opening)
        except CannotBeDone:  # said when it is cut
            return
        if table.point is not None and not line.corners:
            remedy = "Leave it out, or check that the opening lists the edges of its corner"
            faults.add("point", f"'{opening.name}' has no corner", remedy)
        elif fault := point_fault(strip, line):
            faults.add("point", *fault)
        for key in ("underlap", "overlap"):
            if getattr(table, key) is not None and opening.closed:
                faults.add(
                    key,
                    f"'{opening.name}' goes all round, so that the band has no ends",
                    "Say closed = false of an opening with a zip or a placket, or leave it out",
                )


def _widths(table: StripTable, faults: FaultList) -> tuple[float, float | None]:
    """Cut width and finished width, the latter None if the fold is not told."""
    allowance = SEAM_ALLOWANCE_MM if table.seam_allowance is None else table.seam_allowance
    if table.seam_allowance is not None and table.fold in (None, Fold.DOUBLE):
        faults.add(
            "seam_allowance",
            "it says nothing here"
            if table.fold is None
            else "the allowances of a double fold are its own inner quarters",
            'Leave it out, or say fold = "flat" or fold = "single"',
        )
    if (table.width is None) == (table.finished_width is None):
        said = "nothing says" if table.width is None else "width and finished_width both say"
        faults.add("", f"{said} how wide the strip is", "Give one of width, finished_width")
        return 1.0, 1.0
    if table.width is not None:
        return table.width, _finished(table.width, table.fold, allowance, faults)
    assert table.finished_width is not None
    if table.fold is None:
        folds = ", ".join(f'"{fold}"' for fold in Fold)
        faults.add("finished_width", "it takes a fold to know the cut width", f"Say fold = {folds}")
        return 1.0, 1.0
    return cut_width_mm(table.finished_width, table.fold, allowance), table.finished_width


def _finished(width: float, fold: Fold | None, allowance: float, faults: FaultList) -> float | None:
    if fold is None:
        return None
    finished = finished_width_mm(width, fold, allowance)
    if finished <= 0:
        faults.add(
            "width",
            f"two seam allowances of {cut_length(allowance)} leave nothing of {cut_length(width)}",
            "Cut it wider, or lower seam_allowance",
        )
    return finished


def _length(table: StripTable, finished: float | None, faults: FaultList) -> Length:
    given = [key for key in _LENGTHS if getattr(table, key) not in (None, False)]
    standing = table.lies is Lies.STANDING and table.finishes is not None
    if standing and not given:
        return ShorterBy(0.0)  # its far edge is as long as its seam
    if standing and table.lies_flat:
        remedy = "Leave out lies_flat: it is as long as its opening"
        faults.add("lies_flat", "the band stands up from its opening", remedy)
    elif len(given) != 1:
        said = "nothing says" if not given else f"{' and '.join(given)} both say"
        remedy = "Give one of length, ratio, shorter_by, lies_flat"
        faults.add("", f"{said} how long the strip is", remedy)
    elif table.length is None and table.finishes is None:
        faults.add(given[0], "it needs an opening to measure", 'Add finishes = "neckline"')
    elif table.length is not None and table.finishes is not None:
        faults.add("finishes", "the length is given already", "Leave out length or finishes")
    elif table.lies_flat and finished is None:
        remedy = "Say how it is folded, with fold"
        faults.add("lies_flat", "it takes the finished width to know the inner edge", remedy)
    if table.ratio is not None:
        return ByRatio(table.ratio)
    if table.shorter_by is not None:
        return ShorterBy(table.shorter_by)
    return LiesFlat() if table.lies_flat else CutLength(table.length or 1.0)


def _check_points(table: StripTable, openings: OpeningPoints, faults: FaultList) -> None:
    if table.finishes is None:
        for key in _OF_AN_OPENING:
            if getattr(table, key):
                faults.add(key, "the strip finishes no opening", "Leave it out, or add finishes")
        return
    with faults.gathering("finishes"):
        if table.finishes not in openings:
            raise Unusable.unknown("opening", table.finishes, openings)
    points = openings.get(table.finishes)
    if points is None:
        return
    named = [
        *(
            (f"unstretched[{k}]", name)
            for k, pair in enumerate(table.unstretched, 1)
            for name in pair
        ),
        *(("join_at", name) for name in (table.join_at,) if name is not None),
        *((f"joins_clear_of[{k}]", name) for k, name in enumerate(table.joins_clear_of or [], 1)),
    ]
    for key, name in named:
        with faults.gathering(key):
            if name not in points:
                raise Unusable.unknown(f"point of '{table.finishes}'", name, points)
