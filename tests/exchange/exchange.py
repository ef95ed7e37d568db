"""Jobs written to a pattern file and read back, for the tests of the formats."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import shapely

from marker.cloth.fabric import Nap
from marker.exchange.cloth_facts import ClothFacts
from marker.exchange.dxf.dxf_text import dxf_text
from marker.exchange.importing import Imported, Wanted, import_drawings
from marker.exchange.laid_flat import Sheet, pattern_sheet
from marker.exchange.svg.svg_text import svg_text
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.jobfile.writing import JOB, job_files
from marker.pattern.piece import CutPiece

CREATED = datetime(2026, 3, 1, 12, 0)
WITHIN_MM = 0.05
JERSEY = ClothFacts(width_mm=1500.0, nap=Nap.EITHER_WAY)


def written(sheet: Sheet, kind: str) -> str:
    """The sheet as the text of a 'dxf' or 'svg' file."""
    return dxf_text(sheet, CREATED) if kind == "dxf" else svg_text(sheet)


def imported(
    folder: Path, text: str, kind: str, unit_mm: float | None = None, size: str | None = None
) -> Imported:
    """What is read of a file with this text."""
    path = folder / f"choir.{kind}"
    path.write_text(text, encoding="utf-8")
    return import_drawings([path], Wanted(unit_mm, size))


def job_of(found: Imported, folder: Path) -> Job:
    """The job that is written for it, read back."""
    for name, text in job_files(found, ["choir"], JERSEY).texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    return read_job(folder / JOB)


def round_trip(job: Job, kind: str, folder: Path) -> Job:
    """The job written as a file of this kind, its sample size imported, and read from the job
    file that this makes."""
    text = written(pattern_sheet(job), kind)
    return job_of(imported(folder, text, kind, size=job.size), folder)


def apart_mm(one: FloatArray, other: FloatArray) -> float:
    """How far two closed lines lie apart."""
    rings = shapely.LinearRing(one), shapely.LinearRing(other)
    return float(shapely.hausdorff_distance(*rings))


def off_mm(points: FloatArray, others: FloatArray) -> float:
    """How far one of as many points lies from the nearest of the others, either way."""
    assert points.shape == others.shape
    if not len(points):
        return 0.0
    between = np.hypot(*(points[:, None] - others[None]).transpose(2, 0, 1))
    return float(max(between.min(axis=0).max(), between.min(axis=1).max()))


def one_size(job: Job, size: str) -> Job:
    """The job as one of this size alone."""
    return replace(job, size=size, patterns=(job.in_size(size),), order={size: 1})


def all_cut(job: Job) -> list[CutPiece]:
    """What one garment is cut from, in the job's order."""
    return [piece for cloth in job.cloths for piece in job.cut_pieces(cloth)]


def assert_same_pieces(one: Job, other: Job) -> None:
    """Both jobs cut the same, to 0.05 mm."""
    again = {piece.name: piece for piece in all_cut(other)}
    wanted = all_cut(one)
    assert sorted(again) == sorted(" ".join(piece.name.split()) for piece in wanted)
    for piece in wanted:
        read = again[" ".join(piece.name.split())]
        assert apart_mm(piece.outline, read.outline) <= WITHIN_MM
        assert off_mm(piece.notches, read.notches) <= WITHIN_MM
        assert len(piece.cutouts) == len(read.cutouts)
        for hole, kept in zip(piece.cutouts, read.cutouts, strict=True):
            assert apart_mm(hole, kept) <= WITHIN_MM
        assert (read.copies, read.mirrored_copies) == (piece.copies, piece.mirrored_copies)
        assert (read.turns, read.grain_tolerance_deg, read.size) == (
            piece.turns,
            piece.grain_tolerance_deg,
            piece.size,
        )
