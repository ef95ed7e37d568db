"""Drawings as other programs write them, with measures known beforehand: what a case wants."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from marker.errors import FaultyInput
from marker.exchange.importing import Imported, Wanted, import_drawings
from marker.exchange.pdf.pdf_file import EVERYTHING, Pick
from marker.jobfile.writing import job_files
from marker.reports.imported import import_lines, import_report
from tests.exchange.exchange import JERSEY

WITHIN_MM = 0.06  # curves are read as chords to 0.02 mm


@dataclass(frozen=True)
class Case:
    """A drawing and what is to come of it.

    pieces : (across, up) of each, mm, in any order. area_mm2 : of all of them, cut-outs taken off,
    None where it does not matter. names, sizes : in any order, None likewise. folds, notches,
    holes, sewn, grains, inner : how many there are in all. says : words of the report.
    refused : words of the refusal, instead of all that.
    """

    drawing: Any
    pieces: Sequence[tuple[float, float]] = ()
    area_mm2: float | None = None
    names: Sequence[str] | None = None
    sizes: Sequence[str] | None = None
    folds: int = 0
    notches: int = 0
    holes: int = 0
    sewn: int = 0
    grains: int | None = None
    inner: int | None = None
    cut: int | None = None
    says: Sequence[str] = ()
    refused: str = ""
    unit_mm: float | None = None
    join_mm: float = 0.1
    size: str | None = None
    pick: Pick = field(default=EVERYTHING)
    within_mm: float = WITHIN_MM


def check(case: Case, paths: Sequence[Path]) -> Imported | None:
    """Read the files as the case says and compare; None for one that is refused."""
    wanted = Wanted(case.unit_mm, case.size, case.join_mm, case.pick)
    if case.refused:
        with pytest.raises(FaultyInput, match=case.refused) as raised:
            import_drawings(paths, wanted)
        assert all(fault.remedy for fault in raised.value.faults)
        return None
    found = import_drawings(paths, wanted)
    made = job_files(found, [path.name for path in paths], JERSEY)
    report = "\n".join(import_lines(import_report(found, made, [Path("job.toml")])))
    _same_sizes(case, found, report)
    told = {
        "folds": sum(piece.fold is not None for piece in found.pieces),
        "notches": sum(len(piece.notches) for piece in found.pieces),
        "holes": sum(len(piece.cutouts) for piece in found.pieces),
        "sewn": sum(bool(len(piece.stitching)) for piece in found.pieces),
    }
    assert told == {key: getattr(case, key) for key in told}, report
    if case.names is not None:
        assert sorted(piece.name for piece in found.pieces) == sorted(case.names), report
    if case.sizes is not None:
        assert sorted(found.sizes) == sorted(case.sizes), report
    if case.grains is not None:
        assert sum(piece.grain is not None for piece in found.pieces) == case.grains, report
    if case.inner is not None:
        assert sum(len(piece.inner_marks) for piece in found.pieces) == case.inner, report
    if case.cut is not None:
        assert sum(piece.cut for piece in found.pieces) == case.cut, report
    for words in case.says:
        assert re.search(words, report), report
    assert not made.left_out, report
    return found


def _same_sizes(case: Case, found: Imported, report: str) -> None:
    extents = sorted(tuple(np.ptp(piece.outline, axis=0).tolist()) for piece in found.pieces)
    wanted = sorted(case.pieces)
    assert len(extents) == len(wanted), report
    for one, other in zip(extents, wanted, strict=True):
        assert one == pytest.approx(other, abs=case.within_mm), report
    if case.area_mm2 is not None:
        area = sum(shapely.Polygon(p.outline, p.cutouts).area for p in found.pieces)
        around = sum(shapely.Polygon(p.outline, p.cutouts).length for p in found.pieces)
        assert area == pytest.approx(case.area_mm2, abs=case.within_mm * around), report
