"""Plotter text and PDF of a checked layout, read back by readers that share no code with them."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from marker.cloth.fabric import Nap
from marker.exchange.laid_flat import Sheet, layout_sheet, ring
from marker.exchange.pdf.pattern_pdf import MARGIN_MM, pattern_pdf
from marker.exchange.plotter import plotter_text
from marker.exchange.svg.svg_text import svg_text
from marker.geometry.arrays import FloatArray
from tests.drawing.garments import choir_dresses
from tests.drawing.pdf_pages import drawn_on

MM_PER_PT = 25.4 / 72


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    return layout_sheet(choir_dresses(2, Nap.EITHER_WAY))


def pen_lines(text: str) -> list[FloatArray]:
    """What a plotter draws of HP-GL/2: lines in mm, 1/40 mm being its unit. A line begins where
    the pen was put down; commands that D6959's scope leaves out must not be there."""
    lines: list[list[tuple[float, float]]] = []
    at, down = (0.0, 0.0), False
    for command in re.findall(r"LB[^\x03]*\x03|[A-Z]{2}[^;A-Z]*", text):
        word, numbers = command[:2], re.findall(r"-?[\d.]+", command[2:])
        assert word in {"IN", "SP", "PA", "PU", "PD", "SI", "LB"}
        if word not in {"PU", "PD"}:
            continue
        down = word == "PD"
        values = [int(number) / 40 for number in numbers]
        for point in zip(values[::2], values[1::2], strict=True):
            if down and (not lines or lines[-1][-1] != at):
                lines.append([at])
            if down:
                lines[-1].append(point)
            at = point
    return [np.array(line) for line in lines]


def holds(lines: list[FloatArray], outline: FloatArray, within: float) -> bool:
    """Whether one of the lines runs along a closed outline, point for point but for repeats."""
    wanted = ring(outline)
    return any(len(line) == len(wanted) and np.abs(line - wanted).max() <= within for line in lines)


def test_plotter_lines_are_the_outlines(sheet: Sheet) -> None:
    text = plotter_text(sheet)
    assert text.isascii()
    drawn = re.sub(r"LB[^\x03]*\x03", "", text)
    assert "-" not in drawn  # positive coordinates only: ASTM D6959's scope
    lines = pen_lines(text)
    for piece in sheet.pieces:
        assert holds(lines, piece.outline, 0.0126)  # half a unit of 0.025 mm
    corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * (sheet.width_mm, sheet.height_mm)
    assert holds(lines, corners, 0.0126)


def test_plotter_letters_are_ascii(sheet: Sheet) -> None:
    odd = replace(sheet, pieces=(replace(sheet.pieces[0], name="Ärmel \x03; 袖"),))
    text = plotter_text(odd)
    assert "LBPiece Name: Armel ?; ?\x03" in text


@pytest.mark.parametrize("times", [1, 9])
def test_pdf_is_at_full_size(sheet: Sheet, times: int) -> None:
    """pypdf reads page boxes and paths; times 9 the page is longer than 14400 units, so that its
    unit must be larger (ISO 32000-1, UserUnit)."""
    long = replace(sheet, width_mm=sheet.width_mm * times)
    (page,) = PdfReader(BytesIO(pattern_pdf(long))).pages
    unit = float(page.user_unit)
    assert max(page.mediabox.width, page.mediabox.height) <= 14_400
    assert float(page.mediabox.width) * unit * MM_PER_PT == pytest.approx(
        long.width_mm + 2 * MARGIN_MM, abs=0.01
    )
    lines = [run * unit - MARGIN_MM for drawn in drawn_on(page) for run in drawn.runs]
    for piece in sheet.pieces:
        assert holds(lines, piece.outline, 0.01)
    assert "Piece Name: sleeve" in page.extract_text()


def test_svg_shows_the_layout_in_mm(sheet: Sheet) -> None:
    text = svg_text(sheet)
    size = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d. ]+)"', text)
    assert size
    assert f"{size[1]} {size[2]}" == size[3]
    assert (float(size[1]), float(size[2])) == pytest.approx((sheet.width_mm, sheet.height_mm))
    assert text.count("<title>") == 1 + len(sheet.pieces)
