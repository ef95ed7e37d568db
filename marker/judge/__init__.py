"""The independent check every layout must pass before it is measured, drawn or exported.

Shares no geometry with placement: outlines are rebuilt from the pattern with shapely.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

from marker.judge.claims import count_findings, length_findings, off_cloth_findings, piece_area_mm2
from marker.judge.clearance import flaw_findings, pair_findings, remnant_findings
from marker.judge.directions import grain_findings, nap_findings
from marker.judge.finding import Code, Finding, JudgeRefused
from marker.judge.laid_pieces import LaidPiece, laid_pieces, number_findings, outline_findings
from marker.judge.plies import around_tube, spread_findings
from marker.judge.repeat_matches import border_findings, match_findings
from marker.layout import CheckedLayout, Layout
from marker.pattern.piece import CutPiece

__all__ = [
    "Code",
    "Finding",
    "JudgeRefused",
    "check",
    "check_together",
    "findings",
    "findings_together",
]

MOST_PAIRS = 200
"""Pairs too close that are told of one layout; with more it is a heap of pieces."""


def check(layout: Layout, cut_pieces: Sequence[CutPiece], garments: Sequence[str]) -> CheckedLayout:
    """The layout, passed; raises JudgeRefused with every finding otherwise.

    cut_pieces : what one garment needs; those of other cloths are left aside.
    garments : size of each garment wanted, garment g at index g - 1.
    """
    pieces = _of_this_cloth(layout, cut_pieces)
    laid = laid_pieces(layout, pieces)
    found = _all_findings(layout, laid, pieces, garments)
    if found:
        raise JudgeRefused(found)
    wanted = [item for item in laid if not item.spare]
    return CheckedLayout(layout, pieces, tuple(garments), piece_area_mm2(wanted))


def check_together(
    layouts: Sequence[Layout], cut_pieces: Sequence[CutPiece], garments: Sequence[str]
) -> tuple[CheckedLayout, ...]:
    """Layouts on remnants of one cloth, which hold the pieces of a job between them, passed; raises
    JudgeRefused with every finding otherwise. Arguments as for `check`."""
    found = findings_together(layouts, cut_pieces, garments)
    if found:
        raise JudgeRefused(found)
    pieces = _of_this_cloth(layouts[0], cut_pieces)
    return tuple(
        CheckedLayout(layout, pieces, tuple(garments), piece_area_mm2(laid_pieces(layout, pieces)))
        for layout in layouts
    )


def findings(
    layout: Layout, cut_pieces: Sequence[CutPiece], garments: Sequence[str]
) -> tuple[Finding, ...]:
    """Every rule the layout breaks, empty when it breaks none; arguments as for `check`."""
    pieces = _of_this_cloth(layout, cut_pieces)
    return _all_findings(layout, laid_pieces(layout, pieces), pieces, garments)


def findings_together(
    layouts: Sequence[Layout], cut_pieces: Sequence[CutPiece], garments: Sequence[str]
) -> tuple[Finding, ...]:
    """Every rule that layouts break which hold the pieces of a job between them: each its own, and
    all together those of counts and of a garment's nap."""
    pieces = _of_this_cloth(layouts[0], cut_pieces)
    every = [laid_pieces(layout, pieces) for layout in layouts]
    placed = tuple(placement for layout in layouts for placement in layout.placements)
    whole = replace(layouts[0], placements=placed)
    return (
        *count_findings(whole, pieces, garments),
        *nap_findings([item for laid in every for item in laid], whole.cloth.nap),
        *(
            found
            for layout, laid in zip(layouts, every, strict=True)
            for found in _findings_of_one(layout, laid)
        ),
    )


def _of_this_cloth(layout: Layout, cut_pieces: Sequence[CutPiece]) -> tuple[CutPiece, ...]:
    return tuple(piece for piece in cut_pieces if piece.cloth == layout.cloth.name)


def _all_findings(
    layout: Layout,
    laid: Sequence[LaidPiece],
    pieces: Sequence[CutPiece],
    garments: Sequence[str],
) -> tuple[Finding, ...]:
    wanted = [item for item in laid if not item.spare]
    return (
        *count_findings(layout, pieces, garments),
        *_findings_of_one(layout, laid),
        *nap_findings(wanted, layout.cloth.nap),
    )


def _findings_of_one(layout: Layout, laid: Sequence[LaidPiece]) -> Iterator[Finding]:
    """What is wrong with one layout, however many of the job's pieces it holds."""
    cloth = layout.cloth
    sound = [item for item in laid if item.shape.is_valid]
    wanted = [item for item in laid if not item.spare]
    around = around_tube(layout, sound)
    yield from number_findings(layout)
    yield from outline_findings(laid)
    pairs = list(islice(pair_findings(around, cloth.gap_mm, len(sound)), MOST_PAIRS + 1))
    yield from pairs[:MOST_PAIRS]
    if len(pairs) > MOST_PAIRS:
        said = f"more than {MOST_PAIRS} pairs lie over each other or too close; no rule is checked"
        yield Finding(Code.OVERLAP, (), f"{said} beyond that")
        return
    yield from off_cloth_findings(laid, layout)
    yield from remnant_findings(sound, cloth.remnant)
    yield from flaw_findings(around, cloth.flaws)
    yield from length_findings(layout, laid)
    yield from grain_findings(wanted)
    yield from match_findings(wanted, cloth)
    yield from border_findings(wanted, cloth)
    yield from spread_findings(layout, sound)
