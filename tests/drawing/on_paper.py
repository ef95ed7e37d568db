"""What a drawn page says and shows, without a file made of it."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg

from marker.drawing.canvas.pen import Pen
from marker.geometry.arrays import FloatArray

DPI = 60


def words(pen: Pen) -> str:
    """All its texts."""
    return " ".join(text.get_text() for text in pen.axes.texts)


def shades(pen: Pen) -> FloatArray:
    """(rows, columns) from 0, black, to 1, at DPI; luma by ITU-R BT.601."""
    pen.figure.set_dpi(DPI)
    canvas: Any = FigureCanvasAgg(pen.figure)  # its methods carry no types
    canvas.draw()
    grey: FloatArray = np.asarray(canvas.buffer_rgba())[..., :3] / 255 @ [0.299, 0.587, 0.114]
    return grey
