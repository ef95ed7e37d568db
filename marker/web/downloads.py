"""Files made of a layout when a person asks for them: drawings, full-size pages, exports."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from marker.drawing.layout_files import drawn_files
from marker.drawing.pages.full_size import FullSize
from marker.drawing.pages.full_size_pdf import render_full_size
from marker.drawing.pages.paper import NotAPaper, paper_named
from marker.drawing.signs import SIZE_DASHES
from marker.errors import CannotBeDone
from marker.exchange.dxf.dxf_text import dxf_text
from marker.exchange.laid_flat import Sheet, layout_sheet
from marker.exchange.plotter import plotter_text
from marker.exchange.svg.svg_text import svg_text
from marker.files.own_files import OwnFiles
from marker.job import Job
from marker.outputs.folders import slug
from marker.outputs.full_size import PrintRequest, planned_full_size
from marker.outputs.lays import BY
from marker.planning.laid_cloth import LaidCloth
from marker.web.process import Values

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


@dataclass(frozen=True)
class PrintAsked:
    """How a person wants it printed full size. halves, sizes : as of `PrintRequest`."""

    paper: str = "a4"
    halves: bool = False
    sizes: tuple[str, ...] = ()

    @classmethod
    def of(cls, body: Values, job: Job) -> PrintAsked:
        """As the page sent it: `paper`, `halves` 'yes' or nothing, `sizes` with commas between
        them. Raises CannotBeDone for a size that the job lacks, or for too many."""
        wanted = str(body.get("sizes") or "").split(",")
        sizes = tuple(size for size in job.sizes if size in wanted)
        if len(sizes) > len(SIZE_DASHES):
            raise CannotBeDone(
                f"{len(sizes)} sizes can't be told apart by their lines. "
                f"Choose at most {len(SIZE_DASHES)}."
            )
        return cls(str(body.get("paper") or "a4"), bool(body.get("halves")), sizes)

    @property
    def name(self) -> str:
        """What the file is called."""
        parts = [self.paper, *(["half"] if self.halves else []), *self.sizes]
        return f"print-{slug('-'.join(parts))}.pdf"


def download(laid: LaidCloth, job: Job, path: Path, kind: str, asked: PrintAsked) -> Download:
    """The file of this kind: 'diagram.pdf', 'cutting-sheet.html', 'print.pdf', 'layout.dxf'.
    A picture of several pages, such as 'diagram.png', is a zip of them.

    path : of the job file. asked : of full-size pages. Raises CannotBeDone for a kind or a paper
    that there is not.
    """
    stem, _, suffix = kind.partition(".")
    if stem == "print":
        return _named(asked.name, render_full_size([full_size(laid, job, path, asked)]))
    if stem == "layout" and suffix in _EXPORTS:
        return _named(kind, _EXPORTS[suffix](layout_sheet(laid.checked)).encode())
    drawn = drawn_files(laid, job)
    pages = [name for name in drawn if name.startswith(f"{stem}-") and name.endswith(f".{suffix}")]
    if kind not in drawn and pages:
        return Download(f"{stem}-{suffix}.zip", "application/zip", _zipped(drawn, pages))
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


def full_size(laid: LaidCloth, job: Job, path: Path, asked: PrintAsked) -> FullSize:
    """The full-size pages of a layout, planned; raises CannotBeDone for no paper."""
    try:
        sheet = paper_named(asked.paper)
    except NotAPaper as error:
        raise CannotBeDone(f"{error}.") from error
    request = PrintRequest(sheet, halves=asked.halves, sizes=asked.sizes)
    (whole,) = planned_full_size(laid.checked, job, path, request)
    return whole


def _zipped(drawn: Mapping[str, bytes], names: Iterable[str]) -> bytes:
    packed = BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED) as archive:
        for name in names:
            archive.writestr(ZipInfo(name), drawn[name])  # without a date: the same bytes again
    return packed.getvalue()


def _named(name: str, content: bytes) -> Download:
    return Download(name, _TYPES[name.rpartition(".")[2]], content)
