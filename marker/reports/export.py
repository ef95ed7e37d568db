"""What `marker export` says: what was written, and how large it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from marker.exchange.laid_flat import Sheet
from marker.reports.facts import FineMm


@dataclass(frozen=True)
class ExportReport:
    """A file for other programs. rules : the file of grade rules that goes with it.

    width_mm, height_mm : of all that is drawn in it.
    """

    file: Path
    rules: Path | None
    pieces: int
    width_mm: FineMm
    height_mm: FineMm


def export_report(sheet: Sheet, written: Sequence[Path]) -> ExportReport:
    """The report of a sheet. written : its file, then that of the rules if there is one."""
    rules = written[1] if len(written) > 1 else None
    return ExportReport(written[0], rules, len(sheet.pieces), sheet.width_mm, sheet.height_mm)
