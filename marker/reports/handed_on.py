"""What `marker print` and `marker export` say of the files that they wrote."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from marker.exchange.laid_flat import Sheet
from marker.reports.facts import FineMm, Mm
from marker.units import length
from marker.words import counted


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


@dataclass(frozen=True, kw_only=True)
class PageSet:
    """Pages that are joined. page_mm : width and height of the paper.

    printed, left_out : names of the pages, such as 'A1'; nothing is on those left out.
    """

    title: str
    pages: int
    page_mm: tuple[Mm, Mm]
    rows: int
    columns: int
    printed: tuple[str, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True)
class PrintReport:
    """The file that was written, and what is in it."""

    file: Path
    paper: str
    sets: tuple[PageSet, ...]


def print_lines(report: PrintReport, job_name: str) -> Iterator[str]:
    """The report for a person."""
    for each in report.sets:
        width, height = each.page_mm
        yield (
            f"{job_name}, {each.title}: {counted(each.pages, 'page')} of "
            f"{length(width)} × {length(height)}, {each.rows} × {each.columns} joined"
        )
        if each.left_out:
            tiles = "tile" if len(each.left_out) == 1 else "tiles"
            yield f"  left out, with nothing on it: {tiles} {', '.join(each.left_out)}"
    yield (
        "  Print at 100 % and measure the 10 cm and 1 in squares of the first page, both ways, "
        "before you cut."
    )
    yield f"  wrote  {report.file}"
