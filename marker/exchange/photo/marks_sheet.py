"""Our own printed reference: pages with six square markers each at known distances.

Markers are of OpenCV's ArUco kind (dictionary 4X4, 50), 60 mm wide. Two columns 120 mm and three
rows 95 mm apart fit the printable part of A4 and Letter. Sheet k holds numbers
6 (k - 1) to 6 k - 1, row by row from the top left.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from marker.canvas.page import Page
from marker.canvas.pen import BLACK, GREY, Pen
from marker.canvas.to_pdf import pdf_bytes
from marker.exchange.photo.picture import vision
from marker.geometry.arrays import FloatArray

SHEETS, PER_SHEET = 8, 6
SIDE_MM, PRINTED_MM = 60.0, (180.0, 250.0)
_COLUMN_MM, _ROW_MM, _MODULES = 120.0, 95.0, 6
_CHECK_MM = 150.0


def dictionary() -> object:
    """The markers' patterns."""
    cv2 = vision()
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)


def marker_corners(number: int) -> FloatArray:
    """(4, 2) mm from the middle of its sheet, y up: top left, top right, bottom right, bottom
    left."""
    place = number % PER_SHEET
    left = _COLUMN_MM * (place % 2) - PRINTED_MM[0] / 2
    top = PRINTED_MM[1] / 2 - _ROW_MM * (place // 2)
    return np.array(
        [[left, top], [left + SIDE_MM, top], [left + SIDE_MM, top - SIDE_MM], [left, top - SIDE_MM]]
    )


def sheets_pdf(paper_mm: tuple[float, float]) -> bytes:
    """All sheets, each on a page of a paper."""
    return pdf_bytes([_page(k, paper_mm) for k in range(SHEETS)], "reference sheets")


def _page(sheet: int, paper_mm: tuple[float, float]) -> Page:
    pen = Pen(paper_mm).moved(paper_mm[0] / 2, paper_mm[1] / 2)
    for number in range(PER_SHEET * sheet, PER_SHEET * (sheet + 1)):
        pen.fill(shapely.union_all(list(_modules(number)), grid_size=1e-6), BLACK)
    low = PRINTED_MM[1] / 2 - SIDE_MM
    pen.lines([np.array([[-_CHECK_MM / 2, low - 22], [_CHECK_MM / 2, low - 22]])], 0.3)
    for end in (-_CHECK_MM / 2, _CHECK_MM / 2):
        pen.lines([np.array([[end, low - 25], [end, low - 19]])], 0.3)
    said = f"Print at 100 %: this line must measure {_CHECK_MM:g} mm"
    pen.text(0, low - 17, said, 9, align="center")
    pen.text(0, low - 31, f"marker reference sheet {sheet + 1} of {SHEETS}", 9, align="center")
    pen.text(
        0,
        low - 35 - 60 - 8,
        "Lay it flat, whole in the photo, touching no piece. Use each sheet once.",
        8,
        colour=GREY,
        align="center",
    )
    return pen.page


def _modules(number: int) -> Iterator[shapely.Polygon]:
    """The black squares of a marker."""
    cv2 = vision()
    bits = cv2.aruco.generateImageMarker(dictionary(), number, _MODULES, None, 1)
    left, top = marker_corners(number)[0]
    step = SIDE_MM / _MODULES
    for row, column in np.argwhere(bits == 0):
        x, y = left + step * column, top - step * row
        yield shapely.box(x, y - step, x + step, y)
