"""What `marker import` says: what was read, what was not, and how large it all is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import numpy as np

from marker.exchange.flat_piece import FlatPiece
from marker.exchange.importing import Imported
from marker.exchange.scale import square_words
from marker.jobfile.writing import JobFiles
from marker.reports.facts import Digits, FineMm
from marker.units import centimetres, inches
from marker.words import counted, size_words

_AIM_MM, _AIM_SHARE = 1.0, 0.003
"""Measures of a photo should be no farther off, the larger of both: common practice, no source."""


@dataclass(frozen=True)
class ScaleFacts:
    """What one unit of a drawing measures. doubt : why that may be wrong; empty if it may not."""

    file: Path
    unit_mm: Annotated[float, Digits(6)]
    said_by: str
    doubt: str


@dataclass(frozen=True)
class PhotoFacts:
    """A photo read. off_mm : how far the reference's points lie off their places. bent : share by
    which the lens draws the corners of the frame inward."""

    file: str
    mm_per_px: FineMm
    off_mm: FineMm
    bent: Annotated[float, Digits(4)]


@dataclass(frozen=True, kw_only=True)
class ReadPiece:
    """One piece read; lengths in mm. in_sizes_mm : size -> across and up. plus_minus_mm : how sure
    the measures of a photo are, at 95 %; None for drawings."""

    name: str
    cloth: str
    cut: int
    mirrored: int
    line: str
    across_mm: FineMm
    up_mm: FineMm
    in_sizes_mm: Mapping[str, tuple[FineMm, FineMm]]
    points: int
    stitching_line: bool
    grain_line: bool
    fold: bool
    notches: int
    cutouts: int
    inner_lines: int
    drill_holes: int
    note: str
    plus_minus_mm: FineMm | None = None


@dataclass(frozen=True, kw_only=True)
class ImportReport:
    """All that was read. cloth_width_mm : None where cloths differ or it is not known. unknown :
    what of the cloths has still to be filled in. selvages_taken : cloths whose selvages are not
    known. no_grain_deg : direction taken where no grain is drawn; None where it is asked for."""

    name: str
    size: str
    sizes: tuple[str, ...]
    rules: int
    cloth_width_mm: float | None
    unknown: tuple[str, ...]
    selvages_taken: tuple[str, ...]
    scales: tuple[ScaleFacts, ...]
    pieces: tuple[ReadPiece, ...]
    test_squares: tuple[str, ...]
    holds: tuple[str, ...]
    passed_over: Mapping[str, int]
    changed: tuple[str, ...]
    left_out: tuple[str, ...]
    no_grain_deg: float | None
    files: tuple[Path, ...]
    photos: tuple[PhotoFacts, ...] = ()


def import_report(imported: Imported, made: JobFiles, files: Sequence[Path]) -> ImportReport:
    """The facts of an import."""
    widths = [facts.width_mm for facts in made.cloths.values()]
    naps = [facts.nap for facts in made.cloths.values()]
    return ImportReport(
        name=imported.title,
        size=imported.size,
        sizes=tuple(imported.sizes),
        rules=len(imported.rules),
        cloth_width_mm=widths[0] if len(set(widths)) == 1 else None,
        unknown=tuple(word for word, known in (("width", widths), ("nap", naps)) if None in known),
        selvages_taken=tuple(
            name for name, facts in made.cloths.items() if facts.selvage_mm is None
        ),
        scales=tuple(
            ScaleFacts(scale.file, scale.unit_mm, scale.said, scale.doubt)
            for scale in imported.scales
        ),
        pieces=tuple(
            _piece(each, made.measures_mm.get(each.name, {}), sure)
            for each, sure in zip(imported.pieces, _sureness(imported), strict=True)
        ),
        test_squares=tuple(
            square_words(square) for scale in imported.scales for square in scale.squares
        ),
        holds=tuple(imported.holds),
        passed_over=imported.passed_over,
        changed=tuple(imported.changed),
        left_out=tuple(made.left_out),
        no_grain_deg=imported.no_grain_deg,
        files=tuple(files),
        photos=tuple(
            PhotoFacts(each.name, each.mm_per_px, each.rms_mm, each.bent)
            for each in (imported.photos.photos if imported.photos else ())
        ),
    )


def _sureness(imported: Imported) -> Sequence[float | None]:
    photos = imported.photos
    return photos.plus_minus_mm if photos else [None] * len(imported.pieces)


def _piece(
    piece: FlatPiece, in_sizes: Mapping[str, tuple[float, float]], sure: float | None
) -> ReadPiece:
    across, up = np.ptp(piece.outline, axis=0)
    return ReadPiece(
        name=piece.name,
        cloth=piece.cloth,
        cut=piece.cut,
        mirrored=piece.mirrored,
        line=piece.line.value,
        across_mm=float(across),
        up_mm=float(up),
        in_sizes_mm=in_sizes,
        points=len(piece.outline),
        stitching_line=bool(len(piece.stitching)),
        grain_line=piece.grain is not None,
        fold=piece.fold is not None,
        notches=len(piece.notches),
        cutouts=len(piece.cutouts),
        inner_lines=sum(not mark.kind.is_point for mark in piece.inner_marks),
        drill_holes=sum(mark.kind.is_point for mark in piece.inner_marks),
        note=piece.note,
        plus_minus_mm=sure,
    )


def import_lines(report: ImportReport) -> Iterator[str]:
    """The report for a person at a terminal: what was read, what was written, what comes next."""
    yield from read_lines(report)
    yield ""
    yield from _next_lines(report)


def read_lines(report: ImportReport) -> Iterator[str]:
    """What was read, passed over and assumed."""
    yield from report.test_squares
    said = ", ".join(filter(None, [report.name, _sizes(report)]))
    yield f"{said}: {counted(len(report.pieces), 'piece')}"
    for scale in report.scales:
        yield f"  {scale.file}: one unit is {scale.unit_mm:.6g} mm{_why(scale)}"
    for photo in report.photos:
        yield (
            f"  {photo.file}: one pixel is {photo.mm_per_px:.2f} mm; the reference fits to "
            f"{photo.off_mm:.2f} mm; the lens bends by {100 * photo.bent:.1f} %"
        )
    if report.holds:
        yield f"  it holds {', '.join(report.holds)}"
    yield ""
    yield "Read (across × up in the drawing; check one of them with a ruler):"
    for piece in report.pieces:
        yield _piece_line(piece)
        if len(report.sizes) > 1:
            yield _sizes_line(piece)
    yield from _unsure(report.pieces)
    lost = [f"  {count} × {what}" for what, count in report.passed_over.items()]
    if lost or report.left_out:
        yield ""
        yield "Passed over:"
        yield from lost
        yield from (f"  {line}" for line in report.left_out)
    assumed = list(_assumed(report))
    if assumed:
        yield ""
        yield "Assumed, because the files do not say it; correct it in the job:"
        yield from (f"  {line}" for line in assumed)


def _next_lines(report: ImportReport) -> Iterator[str]:
    yield from (f"wrote  {path}" for path in report.files)
    without = [piece.name for piece in report.pieces if not piece.grain_line]
    if without and report.no_grain_deg is None:
        yield (
            f"First write the grain of {', '.join(without)} into {report.files[0]}: no arrow was "
            "found there"
        )
    if report.unknown:
        words = " and the ".join(report.unknown)
        yield f"First write the {words} of the cloth into {report.files[0]}: not known yet"
    for picture in (path for path in report.files if path.suffix == ".jpg"):
        yield f"Look at {picture}: what was found is drawn over the photo, its edges numbered"
    yield f"Then: marker check {report.files[0]}"
    for path in report.files:
        if path.suffix == ".pdf":
            yield f"Compare with the pattern: every piece that was read is drawn in {path}"


def _unsure(pieces: Sequence[ReadPiece]) -> Iterator[str]:
    """Pieces for which the reference in a photo is too small, or too far away."""
    off = {piece.name: piece.plus_minus_mm or 0.0 for piece in pieces if _is_unsure(piece)}
    if off:
        many = len(off) > 1
        yield (
            f"  The reference is small for {' and '.join(off)}, or lies far from "
            f"{'them' if many else 'it'}: expect measures to be off by up to "
            f"{max(off.values()):.1f} mm"
        )
        yield "  Better: a sheet of A4 in the middle, or sheets of `marker print --reference` at"
        yield "  four corners"


def _is_unsure(piece: ReadPiece) -> bool:
    """Whether a piece of a photo may be off by more than a paper pattern should be."""
    allowed = max(_AIM_MM, _AIM_SHARE * max(piece.across_mm, piece.up_mm))
    return (piece.plus_minus_mm or 0.0) > allowed


def _sizes(report: ImportReport) -> str:
    if len(report.sizes) == 1:
        return size_words(report.sizes)
    made = f"graded by {counted(report.rules, 'rule')}" if report.rules else "each drawn"
    return f"sizes {', '.join(report.sizes)}, {made}, sample size {report.size}"


def _sizes_line(piece: ReadPiece) -> str:
    """What a piece measures in each size, so that its growth can be checked too."""
    measures = piece.in_sizes_mm.items()
    same = len({tuple(sides) for _, sides in measures}) == 1
    each = ", ".join(f"{size}: {centimetres(a)} × {centimetres(b)}" for size, (a, b) in measures)
    return "    the same in every size" if same else f"    {each} cm"


def _why(scale: ScaleFacts) -> str:
    if scale.doubt:
        return f", as --units says, though {scale.doubt}"
    return f", by {scale.said_by}"


def _piece_line(piece: ReadPiece) -> str:
    across, up = piece.across_mm, piece.up_mm
    has = [
        f"cut {piece.cut}" + (f", {piece.mirrored} mirrored" if piece.mirrored else ""),
        *(word for word, there in _parts(piece) if there),
    ]
    return (
        f"  {piece.name}: {centimetres(across)} × {centimetres(up)} cm "
        f"({inches(across, 16)} × {inches(up, 16)}){_sure(piece)}; {', '.join(has)}"
    )


def _sure(piece: ReadPiece) -> str:
    return "" if piece.plus_minus_mm is None else f" ± {max(piece.plus_minus_mm, 0.1):.1f} mm"


def _parts(piece: ReadPiece) -> Iterator[tuple[str, bool]]:
    yield "drawn along its stitching line", piece.line != "cut line"
    yield "on the fold", piece.fold
    yield "stitching line", piece.stitching_line
    yield "grain line", piece.grain_line
    yield counted(piece.notches, "notch"), piece.notches > 0
    yield counted(piece.cutouts, "cut-out"), piece.cutouts > 0
    yield counted(piece.inner_lines, "inner line"), piece.inner_lines > 0
    yield counted(piece.drill_holes, "point inside"), piece.drill_holes > 0


def _has_one_line(piece: ReadPiece) -> bool:
    """Whether only its outline was drawn, so that nothing tells where it is cut or sewn."""
    return piece.line == "cut line" and not piece.stitching_line


def _assumed(report: ImportReport) -> Iterator[str]:
    for name in report.selvages_taken:
        yield f"the selvages of {name}: 1 cm"
    without = [piece.name for piece in report.pieces if not piece.grain_line]
    if without and report.no_grain_deg is not None:
        way = "to the right" if report.no_grain_deg == 0 else "up"
        yield f"the grain of {', '.join(without)}: {way}, no grain line was drawn"
    cut = [each.name for each in report.pieces if _has_one_line(each)]
    if cut:
        yield (
            f"the outline of {', '.join(cut)}: where it is cut, seam allowances included. "
            'If it is where it is sewn, write line = "stitching line" and an allowance'
        )
    yield from report.changed
