"""The independent check every layout must pass before it is measured, drawn or exported.

Shares no geometry with placement: outlines are rebuilt from the pattern with shapely.
"""

from __future__ import annotations

from collections.abc import Sequence

from marker.judge.counts import count_findings
from marker.judge.direction import grain_findings, nap_findings
from marker.judge.extent import length_findings, off_cloth_findings, piece_area_mm2
from marker.judge.finding import TOLERANCE_MM, Code, Finding, JudgeRefused
from marker.judge.flaws import flaw_findings
from marker.judge.folding import around_tube, spread_findings
from marker.judge.laid import LaidPiece, laid_pieces, number_findings, outline_findings
from marker.judge.matching import border_findings, match_findings
from marker.judge.pairs import pair_findings
from marker.layout import CheckedLayout, Layout
from marker.pattern.piece import CutPiece

__all__ = ["TOLERANCE_MM", "Code", "Finding", "JudgeRefused", "check", "findings"]


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


def findings(
    layout: Layout, cut_pieces: Sequence[CutPiece], garments: Sequence[str]
) -> tuple[Finding, ...]:
    """Every rule the layout breaks, empty when it breaks none; arguments as for `check`."""
    pieces = _of_this_cloth(layout, cut_pieces)
    return _all_findings(layout, laid_pieces(layout, pieces), pieces, garments)


def _of_this_cloth(layout: Layout, cut_pieces: Sequence[CutPiece]) -> tuple[CutPiece, ...]:
    return tuple(piece for piece in cut_pieces if piece.cloth == layout.cloth.name)


def _all_findings(
    layout: Layout,
    laid: Sequence[LaidPiece],
    pieces: Sequence[CutPiece],
    garments: Sequence[str],
) -> tuple[Finding, ...]:
    cloth = layout.cloth
    sound = [item for item in laid if item.shape.is_valid]
    wanted = [item for item in laid if not item.spare]
    around = around_tube(layout, sound)
    return (
        *number_findings(layout),
        *count_findings(layout, pieces, garments),
        *outline_findings(laid),
        *pair_findings(around, cloth.gap_mm, len(sound)),
        *off_cloth_findings(laid, layout),
        *flaw_findings(around, cloth.flaws),
        *length_findings(layout, laid),
        *grain_findings(wanted),
        *nap_findings(wanted, cloth.nap),
        *match_findings(wanted, cloth),
        *border_findings(wanted, cloth),
        *spread_findings(layout, sound),
    )
