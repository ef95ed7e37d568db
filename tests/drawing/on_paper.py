"""What a drawn page says and shows."""

from __future__ import annotations

from io import BytesIO

import numpy as np
from PIL import Image

from marker.canvas.page import Page
from marker.canvas.rendering import png_of
from marker.canvas.to_pdf import pdf_bytes
from marker.geometry.arrays import FloatArray

DPI = 60


def words(page: Page) -> str:
    """All its texts."""
    return " ".join(page.texts)


def shades(page: Page) -> FloatArray:
    """(rows, columns) from 0, black, to 1, at DPI; luma by ITU-R BT.601."""
    (picture,) = png_of(pdf_bytes([page]), DPI)
    return shades_of(picture)


def shades_of(picture: bytes) -> FloatArray:
    """(rows, columns) of a PNG, as `shades`."""
    grey: FloatArray = np.asarray(Image.open(BytesIO(picture)).convert("L")) / 255
    return grey
