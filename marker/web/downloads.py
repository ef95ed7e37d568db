"""Files made of a layout when a person asks for them: drawings, full-size pages, exports."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from marker.drawing.layout_files import drawn_files
from marker.drawing.pages.full_size import FullSize
from marker.drawing.pages.full_size_pdf import render_full_size
from marker.drawing.pages.paper import NotAPaper, paper_named
from marker.errors import CannotBeDone
from marker.exchange.dxf.dxf_text import dxf_text
from marker.exchange.laid_flat import Sheet, layout_sheet
from marker.exchange.plotter import plotter_text
from marker.exchange.svg.svg_text import svg_text
from marker.files.own_files import OwnFiles
from marker.job import Job
from marker.outputs.full_size import PrintRequest, planned_full_size
from marker.outputs.lays import BY
from marker.planning.laid_cloth import LaidCloth

_TYPES = {
    "pdf": "application/pdf",
    "png": "image/png",
    "svg": "image/svg+xml",
    "html": "text/html; charset=utf-8",
    "dxf": "application/dxf",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "plt": "application/vnd.hp-hpgl",
}
OF_ORDER = "order/"
"""What the kind of an order's file begins with."""

_EXPORTS: dict[str, Callable[[Sheet], str]] = {
    "dxf": lambda sheet: dxf_text(sheet, datetime.now()),
    "svg": svg_text,
    "plt": plotter_text,
}


@dataclass(frozen=True)
class Download:
    """A file to be saved. type : its media type."""

    name: str
    type: str
    content: bytes


def download(laid: LaidCloth, job: Job, path: Path, kind: str, paper: str) -> Download:
    """The file of this kind: 'diagram.pdf', 'cutting-sheet.html', 'print.pdf', 'layout.dxf'.

    path : of the job file. paper : of full-size pages. Raises CannotBeDone for a kind or a paper
    that there is not.
    """
    stem, _, suffix = kind.partition(".")
    if stem == "print":
        return _named(f"print-{paper}.pdf", render_full_size([full_size(laid, job, path, paper)]))
    if stem == "layout" and suffix in _EXPORTS:
        return _named(kind, _EXPORTS[suffix](layout_sheet(laid.checked)).encode())
    drawn = drawn_files(laid, job)
    if kind not in drawn:
        raise CannotBeDone(f"there is no '{kind}'; there are {', '.join(drawn)}.")
    return _named(kind, drawn[kind])


def of_order(folder: Path, kind: str) -> Download:
    """A file of the order that was planned last, as it was written: 'order/lay-1.pdf'."""
    name = kind.removeprefix(OF_ORDER)
    own = OwnFiles(folder) if folder.is_dir() else None
    if own is None or name != Path(name).name or not own.is_own(name, BY):
        raise CannotBeDone(f"there is no '{name}' of an order. Plan it again.")
    return _named(name, (folder / name).read_bytes())


def full_size(laid: LaidCloth, job: Job, path: Path, paper: str) -> FullSize:
    """The full-size pages of a layout, planned; raises CannotBeDone for no paper."""
    try:
        sheet = paper_named(paper)
    except NotAPaper as error:
        raise CannotBeDone(f"{error}.") from error
    (whole,) = planned_full_size(laid.checked, job, path, PrintRequest(sheet))
    return whole


def _named(name: str, content: bytes) -> Download:
    return Download(name.replace(":", "-"), _TYPES[name.rpartition(".")[2]], content)
