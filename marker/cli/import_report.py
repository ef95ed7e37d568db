"""What `marker import` says: what was read, what was not, and how large it all is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from marker.counting import counted
from marker.files.importing import Imported
from marker.pattern.flat_piece import FlatPiece
from marker.units import inches


def import_facts(
    imported: Imported, left_out: Sequence[str], files: Sequence[Path]
) -> dict[str, Any]:
    """All of it as plain values, lengths in mm."""
    return {
        "name": imported.title,
        "size": imported.size,
        "scales": [
            {
                "file": str(scale.file),
                "unit_mm": round(scale.unit_mm, 6),
                "said_by": scale.said,
                "doubt": scale.doubt,
            }
            for scale in imported.scales
        ],
        "pieces": [_piece(piece) for piece in imported.pieces],
        "passed_over": dict(imported.passed_over),
        "changed": list(imported.changed),
        "left_out": list(left_out),
        "no_grain_deg": imported.no_grain_deg,
        "files": [str(path) for path in files],
    }


def _piece(piece: FlatPiece) -> dict[str, Any]:
    across, up = np.ptp(piece.outline, axis=0)
    return {
        "name": piece.name,
        "cloth": piece.cloth,
        "cut": piece.cut,
        "mirrored": piece.mirrored,
        "line": piece.line.value,
        "across_mm": round(float(across), 2),
        "up_mm": round(float(up), 2),
        "points": len(piece.outline),
        "stitching_line": bool(len(piece.stitching)),
        "grain_line": piece.grain is not None,
        "fold": piece.fold is not None,
        "notches": len(piece.notches),
        "cutouts": len(piece.cutouts),
        "inner_lines": len(piece.inner_lines),
        "drill_holes": len(piece.drill_holes),
        "note": piece.note,
    }


def import_lines(facts: dict[str, Any]) -> Iterator[str]:
    """`import_facts` as lines for a person."""
    yield f"{facts['name']}, size {facts['size']}: {counted(len(facts['pieces']), 'piece')}"
    for scale in facts["scales"]:
        yield f"  {scale['file']}: one unit is {scale['unit_mm']:.6g} mm{_why(scale)}"
    yield ""
    yield "Read (across × up in the drawing; check one of them with a ruler):"
    for piece in facts["pieces"]:
        yield _piece_line(piece)
    lost = [f"  {count} × {what}" for what, count in facts["passed_over"].items()]
    if lost or facts["left_out"]:
        yield ""
        yield "Passed over:"
        yield from lost
        yield from (f"  {line}" for line in facts["left_out"])
    assumed = list(_assumed(facts))
    if assumed:
        yield ""
        yield "Taken so, for want of better; correct it in the job:"
        yield from (f"  {line}" for line in assumed)
    yield ""
    yield from (f"wrote  {path}" for path in facts["files"])
    yield f"Then: marker check {facts['files'][0]}"


def _why(scale: dict[str, Any]) -> str:
    if scale["doubt"]:
        return f", as --units says, though {scale['doubt']}"
    return f", by {scale['said_by']}"


def _piece_line(piece: dict[str, Any]) -> str:
    across, up = piece["across_mm"], piece["up_mm"]
    has = [
        f"cut {piece['cut']}" + (f", {piece['mirrored']} mirrored" if piece["mirrored"] else ""),
        *(word for word, there in _parts(piece) if there),
    ]
    return (
        f"  {piece['name']}: {across / 10:.1f} × {up / 10:.1f} cm "
        f"({inches(across)} × {inches(up)}); {', '.join(has)}"
    )


def _parts(piece: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    yield "drawn along its stitching line", piece["line"] != "cut line"
    yield "on the fold", piece["fold"]
    yield "stitching line", piece["stitching_line"]
    yield "grain line", piece["grain_line"]
    for key, word in (
        ("notches", "notch"),
        ("cutouts", "cut-out"),
        ("inner_lines", "inner line"),
        ("drill_holes", "drill hole"),
    ):
        only = " (in the drawing only)" if key in ("inner_lines", "drill_holes") else ""
        yield counted(piece[key], word) + only, piece[key]


def _assumed(facts: dict[str, Any]) -> Iterator[str]:
    yield "the width of the cloth: 150 cm, selvages of 1 cm"
    without = [piece["name"] for piece in facts["pieces"] if not piece["grain_line"]]
    if without:
        way = "to the right" if facts["no_grain_deg"] == 0 else "up"
        yield f"the grain of {', '.join(without)}: {way}, no grain line was drawn"
    yield from facts["changed"]
