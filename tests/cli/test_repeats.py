"""A plaid job through the commands: what is printed is in the JSON, the judge sees it again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import job_file, laid, marker
from tests.jobfile.test_matches import EDGES, NOTCHES, PLAID, SIDES, match
from tests.jobfile.writer import SQUARE, piece

JOB = PLAID + piece(SQUARE, EDGES, NOTCHES) + piece(SQUARE, EDGES, name="back") + match(SIDES)


@pytest.mark.usefixtures("no_diagrams")
def test_a_plaid_job_is_checked_laid_and_judged(tmp_path: Path) -> None:
    job = job_file(tmp_path, JOB)
    checked = marker("check", job)
    assert (
        "A  side: front.side at hip and back.side at 30 mm; 0 mm along, 0 mm across"
        in checked.output
    )
    facts = json.loads(marker("check", job, "--json").stdout)
    assert facts["matches"] == [
        {
            "letter": "A", "name": "side", "size": "38", "cloth": "jersey",
            "points": ["front.side at hip", "back.side at 30 mm"],
            "repeat_mm": {"along": 0.0, "across": 0.0},
        }
    ]  # fmt: skip

    said = laid(job, "--iterations", 0)
    assert 0 < said["unmatched_mm"] <= said["length_mm"]
    assert said["matching_mm"] == pytest.approx(said["length_mm"] - said["unmatched_mm"])
    assert said["buy"]["repeat_mm"] == pytest.approx(120, abs=1e-3), "cut anywhere"
    lines = marker("lay", job, "--iterations", 0, "--out", tmp_path / "again", "--quiet").output
    assert "match  kept to the repeat of 12 cm along and 90 mm across" in lines
    assert "+ 12 cm to start on its bar wherever it is cut" in lines
    assert "a repeat begins" in lines

    stored = tmp_path / "out" / "layout.json"
    assert marker("judge", stored).exit_code == 0
    raw = json.loads(stored.read_text())
    raw["placements"][0]["x_mm"] += 2
    for point in raw["placements"][0]["outline_mm"]:
        point[0] += 2
    stored.write_text(json.dumps(raw))
    judged = marker("judge", stored)
    assert judged.exit_code == 1
    assert "repeat not matched: front 38 #1/1 and back 38 #1/1" in judged.output
