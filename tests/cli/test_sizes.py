"""Several sizes in one layout: laid, judged, and checked size by size."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import job_file, laid, marker

TWO_SIZES = """
name = "choir sashes"
units = "mm"
size = "M"
sizes = ["S", "M"]
order = { S = 2, M = 1 }
cloth.jersey = { width = "60 cm", nap = "one way per garment" }
[[piece]]
name = "sash"
cut = 2
shape = { kind = "triangle", base = { by_size = { S = 200, M = 300 } }, height = 100 }
[[piece]]
name = "knot"
shape = { kind = "rectangle", width = 50, height = 50 }
"""


@pytest.mark.usefixtures("no_diagrams")
def test_garments_of_two_sizes_share_a_layout(tmp_path: Path) -> None:
    layout = laid(job_file(tmp_path, TWO_SIZES), "--iterations", 1)
    of = [(place["garment"], place["size"]) for place in layout["placements"]]
    assert sorted(set(of)) == [(1, "S"), (2, "S"), (3, "M")]
    assert len(of) == 9
    for garment in (1, 2, 3):  # no piece points against the rest of its garment
        turns = {
            place["rotation_deg"] % 360 >= 180
            for place in layout["placements"]
            if place["garment"] == garment
        }
        assert len(turns) == 1
    assert marker("judge", tmp_path / "out" / "layout.json").exit_code == 0


def test_check_has_a_column_a_size(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_SIZES)
    lines = marker("check", job).stdout.splitlines()
    heads = lines.index("                    S            M")
    assert lines[heads + 1 : heads + 3] == [
        "  2 sash  10.0 × 20.0  10.0 × 30.0",
        "  1 knot    5.0 × 5.0    5.0 × 5.0",
    ]
    facts = json.loads(marker("check", job, "--json").stdout)
    assert [(piece["piece"], piece["size"]) for piece in facts["pieces"]] == [
        ("sash", "S"), ("knot", "S"), ("sash", "M"), ("knot", "M")
    ]  # fmt: skip


def test_a_piece_too_wide_names_its_size(tmp_path: Path) -> None:
    told = marker("check", job_file(tmp_path, TWO_SIZES.replace("60 cm", "25 cm")))
    assert told.exit_code == 1
    assert "sash of size M needs 30 cm" in told.stderr
