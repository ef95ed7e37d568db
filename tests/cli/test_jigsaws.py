"""Jigsaws out of `marker lay`: no layout is shorter than the square they were cut from.

dighe1, dighe2: jigsaws of 100 × 100 (after Dighe & Jakiela, Evolutionary Computation 3, 1996,
239-266), so the shortest length is 100 exactly, the area ÷ the width.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from tests.cli.commands import job_file, laid
from tests.jobfile.writer import HEAD, piece, points_line

_AT_HOME = Path(__file__).parents[3] / "shared" / "instances"
INSTANCES = Path(os.environ.get("MARKER_INSTANCES", _AT_HOME))


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize("name", ["dighe1", "dighe2"])
def test_a_jigsaw_is_never_beaten(name: str, tmp_path: Path) -> None:
    path = INSTANCES / f"{name}.json"
    if not path.exists():
        pytest.skip(f"no instance {path}")
    pieces = [
        piece(
            points_line(part["polygon"]), f"cut = {part['quantity']}", "grain = 0", "turns = [0]",
            name=f"part {number}",
        )
        for number, part in enumerate(json.loads(path.read_text())["pieces"])
    ]  # fmt: skip
    text = HEAD.replace("150 cm", "10 cm") + "".join(pieces)
    layout = laid(job_file(tmp_path, text), "--seconds", 2)
    assert layout["cloth"]["usable_width_mm"] == 100
    assert layout["length_lower_bound_mm"] == 100
    assert layout["length_mm"] >= 100
    assert layout["utilisation"] <= 1
