"""The judge on placements published for open packing instances.

Source: ESICUP data sets (EURO special interest group on cutting and packing); layouts by Gomes &
Oliveira, European Journal of Operational Research 171(3), 2006, 811-829, and others named in the
files. Read from $MARKER_INSTANCES or ../shared/instances; never kept in this repository.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from marker.judge import check, findings
from marker.judge.finding import label
from marker.layout import Layout, Placement
from marker.pattern.piece import CutPiece
from tests.helpers import cloth, cut_piece, laid_outline, layout
from tests.random_layouts import SPOILED_BY_MM, best_push, moved

_WIDTH_MM = 1500.0
_AT_HOME = Path(__file__).parents[3] / "shared" / "instances"
INSTANCES = Path(os.environ.get("MARKER_INSTANCES", _AT_HOME))
STORED = sorted((INSTANCES / "layouts").glob("*.json"))
# The polygons of swim are truncated to whole units, 0.26 mm here, after they were laid. Its
# stored overlap, a millionth of the area, is ten times that of any other and shows on cloth.
LAPPED = [path for path in STORED if path.stem.startswith("swim")]
EXACT = [path for path in STORED if path not in LAPPED]

pytestmark = pytest.mark.skipif(not STORED, reason=f"no published layouts in {INSTANCES}")


def _published(path: Path) -> tuple[dict[str, Any], Layout, list[CutPiece], float]:
    """The stored layout as one of ours, the strip's width scaled to that of a cloth."""
    stored = json.loads(path.read_text())
    instance = json.loads((INSTANCES / f"{stored['instance']}.json").read_text())
    scale = _WIDTH_MM / instance["sheet_width"]
    pieces = {
        item["id"]: cut_piece(
            item["id"],
            np.array(item["polygon"], dtype=float) * scale,
            turns=tuple(instance["allowed_rotations_deg"]),
            copies=item["quantity"],
        )
        for item in instance["pieces"]
    }
    laid: list[Placement] = []
    for item in stored["placements"]:
        piece, turn = pieces[item["id"]], item["rotation_deg"]
        at = np.array([item["x"], item["y"]]) * scale
        copy = 1 + sum(other.piece == piece.name for other in laid)
        outline = laid_outline(piece.outline, turn, False) + at
        x, y = float(at[0]), float(at[1])
        laid.append(Placement(piece.name, piece.size, 1, copy, turn, False, x, y, outline))
    return stored, layout(laid, cloth(_WIDTH_MM)), list(pieces.values()), scale


@pytest.mark.parametrize("path", EXACT, ids=lambda path: path.stem)
def test_published_layout_passes_with_its_published_length(path: Path) -> None:
    stored, published, pieces, scale = _published(path)
    assert stored["complete"]
    checked = check(published, pieces, ["38"])
    assert published.length_mm / scale == pytest.approx(stored["measured_length"], rel=1e-5)
    assert checked.utilisation == pytest.approx(stored["measured_density"], abs=1e-5)


@pytest.mark.parametrize("path", EXACT, ids=lambda path: path.stem)
def test_published_layout_with_a_piece_moved_into_its_neighbour_fails(path: Path) -> None:
    _, published, pieces, _ = _published(path)
    laid = list(published.placements)
    k = best_push(laid)
    laid[k] = moved(laid[k], -SPOILED_BY_MM, 0.0)
    found = findings(layout(laid, published.cloth), pieces, ["38"])
    assert {str(item.code) for item in found} == {"overlap"}
    assert all(label(laid[k]) in item.pieces for item in found)


@pytest.mark.parametrize("path", LAPPED, ids=lambda path: path.stem)
def test_published_layout_with_truncated_coordinates_laps(path: Path) -> None:
    _, published, pieces, _ = _published(path)
    found = findings(published, pieces, ["38"])
    assert {str(item.code) for item in found} == {"overlap"}
