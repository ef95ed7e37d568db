"""What a PDF page says is drawn on it, read with pypdf; paper mm."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

import numpy as np
from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

from marker.geometry.arrays import FloatArray

MM_PER_UNIT = 25.4 / 72  # default user space, ISO 32000-1, 8.3.2.3


@dataclass(frozen=True)
class Drawn:
    """One stroked path. runs : (n, 2) each, closed ones end where they began. dashes : mm."""

    runs: tuple[FloatArray, ...]
    width: float
    dashes: tuple[float, ...]

    @property
    def dashed(self) -> bool:
        """It is not solid."""
        return bool(self.dashes)

    @property
    def size(self) -> FloatArray:
        """Width and height of its box."""
        box: FloatArray = np.ptp(np.vstack(self.runs), axis=0)
        return box


def pages_of(pdf: bytes) -> list[PageObject]:
    return list(PdfReader(BytesIO(pdf)).pages)


def paper_of(page: PageObject) -> tuple[float, float]:
    """Width and height of the page's box."""
    low_x, low_y, high_x, high_y = (float(side) * MM_PER_UNIT for side in page.mediabox)
    return (high_x - low_x, high_y - low_y)


def drawn_on(page: PageObject) -> list[Drawn]:
    """All stroked paths."""
    found: list[Drawn] = []
    runs: list[list[tuple[float, float]]] = []
    dashes: tuple[float, ...] = ()
    width, matrix = 1.0, np.eye(3)
    saved: list[tuple[float, tuple[float, ...], FloatArray]] = []
    content = ContentStream(page.get_contents(), page.pdf)
    for operands, operator in content.operations:
        match operator:
            case b"q":
                saved.append((width, dashes, matrix))
            case b"Q":
                width, dashes, matrix = saved.pop()
            case b"cm":
                a, b, c, d, e, f = map(float, operands)
                matrix = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]]) @ matrix
            case b"w":
                width = float(operands[0]) * MM_PER_UNIT
            case b"d":
                dashes = tuple(float(dash) * MM_PER_UNIT for dash in operands[0])
            case b"m":
                runs.append([(float(operands[0]), float(operands[1]))])
            case b"l":
                runs[-1].append((float(operands[0]), float(operands[1])))
            case b"h":
                runs[-1].append(runs[-1][0])
            case b"S" | b"s" | b"B" | b"b" | b"B*" | b"b*":
                arrays = tuple(_placed(run, matrix) for run in runs)
                found.append(Drawn(arrays, width, dashes))
                runs = []
            case b"f" | b"n" | b"F" | b"f*":
                runs = []
    return found


def _placed(run: list[tuple[float, float]], matrix: FloatArray) -> FloatArray:
    """On the page, mm, the matrix as in ISO 32000-1, 8.3.3."""
    points = np.column_stack([np.array(run), np.ones(len(run))])
    placed: FloatArray = (points @ matrix)[:, :2] * MM_PER_UNIT
    return placed
