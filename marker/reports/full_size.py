"""What `marker print` says: the pages of each thing printed full size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from marker.reports.facts import Mm
from marker.units import length
from marker.words import counted


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
            yield f"  left out, nothing on them: {', '.join(each.left_out)}"
    yield (
        "  Print at 100 % and measure the 10 cm and 1 in squares of the first page, both ways, "
        "before you cut."
    )
    yield f"  wrote  {report.file}"
