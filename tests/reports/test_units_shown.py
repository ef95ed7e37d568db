"""Reports lead with the units of the job."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.commands import job_file, marker
from tests.jobfile.writer import HEAD, SQUARE, piece, strip


@pytest.mark.parametrize(
    ("show", "unit", "cells"),
    [
        ("imperial", "inches", (r"strip\b.* 100", r"  joined from 2 parts of +50 3/8$")),
        ("metric", "cm", (r"strip\b.* 254\.0", r"  joined from 2 parts of +128\.0$")),
        ("both", r"cm \(inches\)", (r" 254\.0 \(100\)", r" 128\.0 \(50 3/8\)$")),
    ],
)
def test_check_says_lengths_in_the_units_the_job_shows(
    tmp_path: Path, show: str, unit: str, cells: tuple[str, ...]
) -> None:
    """100 in and one straight join of two allowances of 1 cm: 2 × 128.0 cm (50 3/8 in)."""
    text = f'show = "{show}"\n' + HEAD + piece(SQUARE) + strip("length = '100 in'")
    said = marker("check", job_file(tmp_path, text)).stdout
    assert re.search(rf"Strips, length in {unit}:", said)
    for cell in cells:
        assert re.search(cell.replace("strip", "binding"), said, re.MULTILINE), said
    note = "50 3/8 in each" if show == "imperial" else "1.28 m each"
    assert f"joined from 2 parts, {note}" in said
