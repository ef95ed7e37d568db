"""What `marker import` says of photos: how far off measures may be, and what would help."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from marker.reports.imported import ImportReport, ReadPiece, import_lines, read_lines

SLEEVE = ReadPiece(
    name="sleeve", cloth="", cut=1, mirrored=0, line="cut line", across_mm=300.0, up_mm=600.0,
    in_sizes_mm={}, points=9, stitching_line=False, grain_line=True, fold=False, notches=0,
    cutouts=0, inner_lines=0, drill_holes=0, note="", plus_minus_mm=0.4,
)  # fmt: skip
REPORT = ImportReport(
    name="paper", size="38", sizes=("38",), rules=0, cloth_width_mm=1500.0, unknown=(),
    selvages_taken=(), scales=(), pieces=(SLEEVE,), test_squares=(), holds=(), passed_over={},
    changed=(), left_out=(), no_grain_deg=None, files=(Path("job.toml"),),
)  # fmt: skip


@pytest.mark.parametrize(
    ("plus_minus", "told"),
    [
        ((0.4, 0.9), ""),
        ((0.4, 1.4), "pocket"),
        ((1.7, 1.4), "pocket"),
        ((2.6, 1.4), "sleeve and pocket"),
    ],
)
def test_a_reference_too_small_for_a_piece_is_told(
    plus_minus: tuple[float, float], told: str
) -> None:
    """A sleeve of 600 mm may be 0.3 % off, 1.8 mm; a pocket of 150 mm 1 mm."""
    sleeve, pocket = plus_minus
    small = replace(SLEEVE, name="pocket", across_mm=120.0, up_mm=150.0, plus_minus_mm=pocket)
    pieces = (replace(SLEEVE, plus_minus_mm=sleeve), small)
    said = " ".join(import_lines(replace(REPORT, pieces=pieces)))
    assert ("The reference is small for" in said) is bool(told)
    if told:
        worst = max(plus_minus) if "sleeve" in told else pocket
        assert f"small for {told}, or lies far" in said
        assert f"off by up to {worst:.1f} mm" in said
        assert "a sheet of A4" in said


def test_an_outline_alone_is_told_to_be_taken_as_the_cut_line() -> None:
    drawn = replace(SLEEVE, name="back", stitching_line=True)
    sewn = replace(SLEEVE, name="front", line="stitching line")
    (line,) = (
        line
        for line in read_lines(replace(REPORT, pieces=(SLEEVE, drawn, sewn)))
        if "seam allowances included" in line
    )
    assert line.startswith("  the outline of sleeve: where it is cut")
