"""Opening PDF files that people give us, with pypdf, which corrects what is untidy; and what a
page of one shows."""

from __future__ import annotations

import logging
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from marker.files.budget import Most
from marker.files.faults import BROKEN, Unusable
from marker.files.reading import read_bytes
from marker.geometry.arrays import FloatArray

if TYPE_CHECKING:
    from pypdf import PageObject, PdfReader

POINT_MM = 25.4 / 72  # one unit of a page, unless UserUnit says otherwise (ISO 32000-1, 8.3.2.3)
_PYPDF = (zlib.error, OSError, AssertionError, NotImplementedError)
_UNPACKED = Most.PDF_CONTENT_BYTES.most
_AGAIN = "Save the pattern's pages alone as a new PDF"


@dataclass(frozen=True)
class PdfPage:
    """A page.

    number : from 1.
    to_mm : (6,) a b c d e f, what turns its units into mm from its lower left corner as shown:
    x = a·u + c·v + e. Its size is as shown, mm.
    """

    number: int
    page: PageObject
    to_mm: FloatArray
    size_mm: tuple[float, float]


def open_pdf(path: Path) -> PdfReader:
    """The file opened; raises Unusable if it is none, is locked, cut short or beyond correcting."""
    content = read_bytes(path, Most.PDF_BYTES)
    if b"%PDF-" not in content[:1024]:
        raise Unusable("this is not a PDF", "Name a PDF file")
    if b"%%EOF" not in content[-2048:]:
        raise Unusable("the PDF ends in the middle: its %%EOF is missing", "Fetch the file again")
    from pypdf import PdfReader  # slow to load, and most commands read no PDF

    _quiet()
    with readable():
        reader = PdfReader(BytesIO(content), strict=False)
        if reader.is_encrypted and not reader.decrypt(""):
            raise Unusable(
                "the PDF is locked by a password", "Open it with the password and save it without"
            )
        Most.PDF_PAGES.demand(len(reader.pages))
    return reader


def told_by(reader: PdfReader, key: str) -> str:
    """What the document says of itself, such as its Creator; "" where it does not."""
    with readable():
        told = reader.metadata
        return str(told.get(f"/{key}", "")) if told else ""


def pages_of(reader: PdfReader, numbers: Sequence[int] | None) -> list[PdfPage]:
    """The pages with these numbers, in that order; None for all."""
    found = []
    with readable():
        count = len(reader.pages)
        for number in numbers or range(1, count + 1):
            if number > count:
                raise Unusable(f"there is no page {number}", f"Its pages are 1 to {count}")
            page = reader.pages[number - 1]
            found.append(PdfPage(number, page, *_shown(page)))
    return found


def _quiet() -> None:
    """What pypdf corrects is not to be printed: what it can't correct becomes a fault here."""
    logger = logging.getLogger("pypdf")
    logger.addHandler(logging.NullHandler())
    logger.propagate = False


@contextmanager
def readable() -> Iterator[None]:
    """pypdf inside, held to what a pattern needs; what it raises at files that are broken or made
    to harm becomes Unusable."""
    from pypdf import apply_configuration
    from pypdf.errors import DependencyError, LimitReachedError, PyPdfError

    try:
        with apply_configuration(
            zlib_maximum_output_length=_UNPACKED,
            lzw_maximum_output_length=_UNPACKED,
            run_length_maximum_output_length=_UNPACKED,
            array_based_stream_maximum_output_length=_UNPACKED,
            stream_decoding_work_maximum_length=2 * _UNPACKED,
        ):
            yield
    except LimitReachedError as error:
        raise Unusable(
            "a part of the PDF unpacks to far more than a pattern holds", _AGAIN
        ) from error
    except (RecursionError, OverflowError, MemoryError) as error:
        raise Unusable("the PDF is beyond reading", _AGAIN) from error
    except (*_PYPDF, PyPdfError, DependencyError, *BROKEN) as error:
        said = " ".join(str(error).split())[:120] or type(error).__name__
        raise Unusable(f"the PDF is broken ({said})", _AGAIN) from error


def _shown(page: Any) -> tuple[FloatArray, tuple[float, float]]:
    """How the page is shown: its crop box, in mm, turned as /Rotate says (clockwise)."""
    box = page.cropbox
    left, foot = float(box.left), float(box.bottom)
    across, up = float(box.width), float(box.height)
    unit = POINT_MM * float(page.get("/UserUnit", 1.0))
    if not np.isfinite([left, foot, across, up, unit, float(page.rotation or 0)]).all():
        raise Unusable("a page of the PDF has no size, or an absurd one", _AGAIN)
    quarter = round(float(page.rotation or 0) / 90) % 4
    turn = ((1, 0, 0, 1), (0, -1, 1, 0), (-1, 0, 0, -1), (0, 1, -1, 0))[quarter]
    shift = ((0.0, 0.0), (0.0, across), (across, up), (up, 0.0))[quarter]
    a, b, c, d = turn
    e, f = shift[0] - a * left - c * foot, shift[1] - b * left - d * foot
    size = (across, up) if quarter % 2 == 0 else (up, across)
    if not (min(size) * unit > 0.0 and max(size) * unit < 1e6):
        raise Unusable("a page of the PDF has no size, or an absurd one", _AGAIN)
    return unit * np.array([a, b, c, d, e, f], dtype=np.float64), (size[0] * unit, size[1] * unit)


@dataclass(frozen=True)
class Drawn:
    """A line on a page. points : (n, 2) mm; a closed line does not repeat its first point.

    colour : '#rrggbb', or the name of a printing ink. dashes : such as '3-1.5', mm; 'none' for
    solid lines. layers : those it lies on, outermost first.
    """

    points: FloatArray
    closed: bool
    colour: str
    dashes: str
    layers: tuple[str, ...]


@dataclass(frozen=True)
class Written:
    """A text and where it begins, (2,) mm."""

    at: FloatArray
    text: str


@dataclass
class Sheet:
    """All that a page shows, mm from its lower left corner, y up. number : of the page, from 1.

    clips : outlines of what it shows of larger drawings."""

    number: int
    size_mm: tuple[float, float]
    lines: list[Drawn] = field(default_factory=list)
    texts: list[Written] = field(default_factory=list)
    clips: list[Drawn] = field(default_factory=list)
