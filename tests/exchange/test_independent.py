"""What export writes, read by parsers that are none of ours: it is what the job cuts, to 0.1 mm.

SVG by the test's own reading of its XML, DXF by ezdxf, PDF by pypdf.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from io import StringIO

import numpy as np
import pytest
from ezdxf.entities.polyline import Polyline
from ezdxf.filemanagement import read as read_dxf

from marker.exchange.dxf.dxf_text import dxf_text
from marker.exchange.laid_flat import NOTCH_MM, Sheet, pattern_sheet
from marker.exchange.pdf.pattern_pdf import pattern_pdf
from marker.exchange.svg.svg_text import svg_text
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.pattern.piece import CutPiece
from tests.drawing.pdf_pages import drawn_on, pages_of
from tests.exchange.exchange import CREATED, all_cut, apart_mm, one_size
from tests.pieces.garments import PIECES

WITHIN_MM = 0.1


@dataclass(frozen=True)
class Lines:
    """All that is drawn, mm, y up. closed : rings, first point not repeated. open_ : from end to
    end. points : single ones."""

    closed: tuple[FloatArray, ...]
    open_: tuple[FloatArray, ...]
    points: FloatArray


def sorted_out(runs: Iterable[FloatArray], points: Iterable[tuple[float, ...]] = ()) -> Lines:
    runs = [run for run in runs if len(run) > 1]
    is_ring = [len(run) > 3 and np.allclose(run[0], run[-1], atol=1e-6) for run in runs]
    return Lines(
        tuple(run[:-1] for run, ring in zip(runs, is_ring, strict=True) if ring),
        tuple(run for run, ring in zip(runs, is_ring, strict=True) if not ring),
        np.array(list(points)).reshape(-1, 2),
    )


def from_svg(text: str) -> Lines:
    """Straight paths (SVG 2, 9.3) of a drawing whose width and view box say what a unit is."""
    root = ET.fromstring(text)
    _, _, across, up = map(float, root.attrib["viewBox"].split())
    assert root.attrib["width"].endswith("mm")
    unit = float(root.attrib["width"].removesuffix("mm")) / across
    runs = []
    for path in root.iter("{http://www.w3.org/2000/svg}path"):
        for part in re.findall(r"M[^M]*", path.attrib["d"]):
            numbers = np.array(re.findall(r"-?[\d.]+", part), dtype=np.float64).reshape(-1, 2)
            run = np.column_stack([numbers[:, 0], up - numbers[:, 1]]) * unit
            runs.append(np.vstack([run, run[:1]]) if part.rstrip().endswith("Z") else run)
    return sorted_out(runs)


def from_dxf(text: str) -> Lines:
    """Lines and points of every block; all are inserted at the origin."""
    runs, points = [], []
    for block in (each for each in read_dxf(StringIO(text)).blocks if not each.is_any_layout):
        for entity in block:
            if isinstance(entity, Polyline):
                run = np.array([tuple(v.dxf.location)[:2] for v in entity.vertices])
                runs.append(np.vstack([run, run[:1]]) if entity.is_closed else run)
            elif entity.dxftype() == "LINE":
                runs.append(np.array([tuple(entity.dxf.start)[:2], tuple(entity.dxf.end)[:2]]))
            elif entity.dxftype() == "POINT":
                points.append(tuple(entity.dxf.location)[:2])
    return sorted_out(runs, points)


def from_pdf(content: bytes) -> Lines:
    (page,) = pages_of(content)
    return sorted_out(run for drawn in drawn_on(page) for run in drawn.runs)


def read_again(sheet: Sheet, kind: str) -> Lines:
    match kind:
        case "svg":
            return from_svg(svg_text(sheet))
        case "dxf":
            return from_dxf(dxf_text(sheet, CREATED))
        case _:
            return from_pdf(pattern_pdf(sheet))


@cache
def choir_dress() -> Job:
    """With folds, bands, notches and stitching lines, in its sample size."""
    job = read_job(PIECES / "choir-dress" / "job.toml")
    return one_size(job, job.size)


def place_of(piece: CutPiece, lines: Lines) -> FloatArray:
    """(2,) by what the piece is moved in the file: a ring of its very shape is there."""
    for ring in lines.closed:
        by: FloatArray = ring.min(axis=0) - piece.outline.min(axis=0)
        if apart_mm(piece.outline + by, ring) <= WITHIN_MM:
            return by
    raise AssertionError(f"{piece.name} is not in the file")


@pytest.mark.parametrize("kind", ["svg", "dxf", "pdf"])
def test_other_readers_find_what_the_job_cuts(kind: str) -> None:
    lines = read_again(pattern_sheet(choir_dress()), kind)
    pieces = all_cut(choir_dress())
    for piece in pieces:
        by = place_of(piece, lines)
        if len(piece.stitching):
            near = [apart_mm(piece.stitching + by, ring) for ring in lines.closed]
            assert min(near) <= WITHIN_MM, piece.name
        assert grains(piece, by, lines), piece.name
        for notch in piece.notches + by:
            assert is_marked(notch, lines), (piece.name, notch)
    assert any(len(piece.stitching) for piece in pieces)
    assert sum(len(piece.notches) for piece in pieces) > 10


def grains(piece: CutPiece, by: FloatArray, lines: Lines) -> int:
    """Arrows inside the piece's box that point along +x, as its grain does when it is cut."""
    low, high = piece.outline.min(axis=0) + by, piece.outline.max(axis=0) + by
    return sum(
        len(run) == 2
        and run[1][0] > run[0][0]
        and abs(run[1][1] - run[0][1]) <= WITHIN_MM
        and bool((run >= low).all() and (run <= high).all())
        for run in lines.open_
    )


def is_marked(notch: FloatArray, lines: Lines) -> bool:
    """A point lies on the notch, or a tick begins there."""
    ticks = [run[0] for run in lines.open_ if len(run) == 2 and _is_tick(run)]
    marks = np.vstack([lines.points, *ticks]) if len(ticks) else lines.points
    return bool((np.hypot(*(marks - notch).T) <= WITHIN_MM).any())


def _is_tick(run: FloatArray) -> bool:
    return abs(float(np.hypot(*(run[1] - run[0]))) - NOTCH_MM) <= WITHIN_MM


@pytest.mark.parametrize("kind", ["svg", "dxf", "pdf"])
def test_a_piece_that_is_off_is_found_out(kind: str) -> None:
    """The readings can fail: an outline a quarter of a millimetre larger is none of the file's."""
    lines = read_again(pattern_sheet(choir_dress()), kind)
    piece = all_cut(choir_dress())[0]
    larger = piece.mapped(lambda points: points * (1 + 0.5 / float(np.ptp(piece.outline))))
    with pytest.raises(AssertionError, match="not in the file"):
        place_of(larger, lines)
    assert not is_marked(piece.notches[0] + place_of(piece, lines) + 0.2, lines)
