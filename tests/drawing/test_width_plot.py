"""The plot of cloth against width: true to scale on both axes, every figure in words."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from marker.cloth.behaviour import Shrinkage
from marker.cloth.buying import purchase
from marker.cloth.fabric import Cloth, Price
from marker.drawing.width_plot import render_width_plot
from marker.layout import CheckedLayout
from marker.planning.widths import BoughtCloth, LeftOutWidth, WidthsResult
from marker.units import Show, System, show_lengths
from tests.drawing.garments import JERSEY, Put, checked, piece
from tests.shapes import rectangle

PANEL = piece("panel", rectangle(600, 400), copies=2)


def panels(width: float, *at: tuple[float, float]) -> CheckedLayout:
    """Two panels of 600 × 400 mm on washed jersey."""
    cloth = replace(JERSEY, width_mm=width, shrinkage=Shrinkage(0.05, 0.02))
    return checked([Put(PANEL, x, y, copy=k) for k, (x, y) in enumerate(at, start=1)], cloth)


def bought(layout: CheckedLayout, laid_at: float | None = None) -> BoughtCloth:
    cloth = layout.layout.cloth
    return BoughtCloth(layout, purchase(layout.layout.length_mm, cloth), laid_at or cloth.width_mm)


@cache
def plot() -> dict[str, bytes]:
    narrow, wide = panels(600, (0, 0), (600, 0)), panels(1000, (0, 0), (0, 400))
    pale = Cloth("lining", 1400, price=Price(4, 1000, "EUR"))
    lining = checked([Put(replace(PANEL, cloth="lining", copies=1), 0, 0)], pale)
    widest = panels(1500, (0, 0), (0, 400))
    return render_width_plot(
        WidthsResult(
            "choir $dress$",
            (bought(narrow), bought(wide), bought(widest, 1000)),
            (LeftOutWidth(300, "panel needs 40 cm across the cloth"),),
            (bought(lining),),
        ),
    )


def column(width: int) -> tuple[float, float, float]:
    """Middle, foot and height on paper of the column of a width, mm; y downwards as in SVG."""
    found = re.search(rf'data-name="column {width}"[^>]* d="([^"]*)"', plot()["buy.svg"].decode())
    assert found
    numbers = [float(text) for text in re.findall(r"-?\d+\.?\d*", found[1])]
    points = np.array(numbers).reshape(-1, 2)
    (left, top), (right, foot) = points.min(axis=0), points.max(axis=0)
    return (left + right) / 2, float(foot), float(foot - top)


def test_columns_are_as_high_as_what_is_bought_and_stand_at_their_widths() -> None:
    """1240 ÷ 0.95 -> 1400 mm, 640 ÷ 0.95 -> 700 mm; 600, 1000 and 1500 mm wide."""
    (x0, foot0, h0), (x1, foot1, h1), (x2, foot2, h2) = map(column, (600, 1000, 1500))
    assert foot0 == pytest.approx(foot1)
    assert foot0 == pytest.approx(foot2)
    assert h0 / h1 == pytest.approx(1400 / 700, rel=1e-4)
    assert h2 == pytest.approx(h1)
    assert (x2 - x1) / (x1 - x0) == pytest.approx(500 / 400, rel=1e-4)


def test_every_figure_is_there_in_words() -> None:
    text = PdfReader(BytesIO(plot()["buy.pdf"])).pages[0].extract_text()
    for words in (
        "choir $dress$", "jersey: what to buy", "70 cm of 1.00 m, 10.43 EUR", "costs least",
        "1.40 m  20.86 EUR", "60 cm (23 5/8 in)", "56.8 cm", "65 mm", "95 mm",
        "5 mm (3/16 in)", "not laid: panel needs 40 cm", "lining, 1.40 m",
        "1.50 m laid as on 1.00 m", "all cloths together: 12.83 EUR", "cm", "in", "yd",
    ):  # fmt: skip
        assert words in text, words


@pytest.mark.parametrize(
    ("show", "units"),
    [
        (Show(), {"cm", "in", "m", "yd"}),
        (Show(System.IMPERIAL, both=False), {"in", "yd"}),
        (Show(System.METRIC, both=False), {"cm", "m"}),
    ],
)
def test_axes_have_the_units_shown(show: Show, units: set[str]) -> None:
    wide = panels(1000, (0, 0), (0, 400))
    with show_lengths(show):
        drawn = render_width_plot(WidthsResult("choir dress", (bought(wide),), (), ()))
    said = re.findall(r">(cm|in|m|yd)</text>", drawn["buy.svg"].decode())
    assert set(said) == units
