"""Opening photos, scans and PDFs of scans: the header is looked at before anything is decoded."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.files.reading import read_bytes
from marker.geometry.arrays import FloatArray

SUFFIXES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".bmp")
LEAST_PIXELS = 300_000
WORKED_PIXELS = 16_000_000  # a larger picture is made smaller: no measure gains by more
_PAGE_DPI = 200
LUMA = 0.299, 0.587, 0.114  # of red, green and blue (ITU-R BT.601, as in JPEG)
_FOCAL_35MM = 41989  # the EXIF tag FocalLengthIn35mmFilm (EXIF 2.3)
_EXIF_IFD = 0x8769
_HALF_DIAGONAL_35MM = 21.63

Bytes = np.ndarray[tuple[int, ...], np.dtype[np.uint8]]


def vision() -> ModuleType:
    """The vision library. Raises Unusable where it is not installed."""
    try:
        import cv2
    except ImportError as error:
        raise Unusable(
            "photos are read with OpenCV, which is not installed",
            "Install it with: pip install 'marker[photo]'",
        ) from error
    return cv2


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture to be read. name : of its file, and its page where it has several.

    shown : (h, w, 3) bytes as they are shown, red first. light : (h, w) float32, 0 to 1, its luma
    in linear light. focal : of the lens in halves of the diagonal, None where the file does not say
    it. scanned : no lens was in the way.
    """

    name: str
    shown: Bytes
    light: FloatArray
    focal: float | None
    scanned: bool

    @property
    def size(self) -> tuple[int, int]:
        """(wide, high) in pixels."""
        return self.shown.shape[1], self.shown.shape[0]


def pictures(path: Path, scanned: bool) -> Iterator[Picture]:
    """The picture of a file, or each page of a PDF, which is always of scans. Raises Unusable for
    what is none, or too large to be read in the memory that a command may take."""
    content = read_bytes(path, Most.PHOTO_BYTES)
    if b"%PDF-" in content[:1024]:
        yield from _pages(path, content)
    else:
        yield _picture(path.name, *_decoded(content), scanned=scanned)


def _picture(name: str, shown: Bytes, luma: Bytes, focal: float | None, scanned: bool) -> Picture:
    cv2 = vision()
    high, wide = luma.shape
    if wide * high > WORKED_PIXELS:
        share = (WORKED_PIXELS / (wide * high)) ** 0.5
        size = int(wide * share), int(high * share)
        shown, luma = (
            cv2.resize(each, size, interpolation=cv2.INTER_AREA) for each in (shown, luma)
        )
    linear = in_linear_light(np.arange(256.0)).astype(np.float32)
    return Picture(name, shown, cv2.LUT(luma, linear), focal, scanned)


def in_linear_light(shown: FloatArray) -> FloatArray:
    """Linear light, 0 to 1, of values 0 to 255 as they are shown (sRGB, IEC 61966-2-1)."""
    value = np.asarray(shown) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def as_shown(linear: FloatArray) -> FloatArray:
    """The other way round."""
    curve = 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    return np.asarray(255 * np.where(linear <= 0.0031308, 12.92 * linear, curve))


def _decoded(content: bytes) -> tuple[Bytes, Bytes, float | None]:
    """Colours, luma, focal length. A JPEG holds its luma sharper than its colours."""
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image = Image.open(BytesIO(content))  # reads no more than the header
            _refuse_size(*image.size)
            focal = _focal(image)
            shown = np.asarray(ImageOps.exif_transpose(image).convert("RGB"))
            image = Image.open(BytesIO(content))
            image.draft("L", image.size)
            luma = np.asarray(ImageOps.exif_transpose(image).convert("RGB").convert("L"))
    except Image.DecompressionBombError as error:  # the library's own limit
        raise Most.PHOTO_PIXELS.exceeded(Most.PHOTO_PIXELS.most) from error
    except (OSError, SyntaxError, ValueError, TypeError, ArithmeticError, LookupError) as error:
        raise Unusable(
            "this is no picture, or it is broken", "Name a photo or scan as JPEG, PNG or TIFF"
        ) from error
    return shown, luma, focal


def _refuse_size(wide: int, high: int) -> None:
    Most.PHOTO_PIXELS.demand(wide * high)
    if wide * high < LEAST_PIXELS:
        raise Unusable(
            f"the picture has {wide} × {high} pixels, too few to measure by",
            "Send the photo in its full size, not a preview of it",
        )


def _focal(image: Any) -> float | None:
    told = image.getexif().get_ifd(_EXIF_IFD).get(_FOCAL_35MM)
    try:
        focal = float(told) / _HALF_DIAGONAL_35MM
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return focal if 0.4 < focal < 10 else None


def _pages(path: Path, content: bytes) -> Iterator[Picture]:
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(content)
    except pypdfium2.PdfiumError as error:
        raise Unusable("the PDF can't be read", "Save it again, without a password") from error
    with document:
        Most.SCANNED_PAGES.demand(len(document))
        for number, page in enumerate(document, 1):
            wide, high = page.get_size()
            scale = min(_PAGE_DPI / 72, (WORKED_PIXELS / (wide * high)) ** 0.5)
            shown = page.render(scale=scale, rev_byteorder=True).to_numpy()[:, :, :3]
            name = path.name if len(document) == 1 else f"{path.name}, page {number}"
            shown = np.ascontiguousarray(shown)
            luma = vision().cvtColor(shown, vision().COLOR_RGB2GRAY)
            yield _picture(name, shown, luma, None, scanned=True)
