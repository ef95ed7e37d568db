"""What `marker import` says: what was read, what was not, and how large it all is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from marker.exchange.flat_piece import FlatPiece
from marker.exchange.importing import Imported
from marker.jobfile.writing import JobFiles
from marker.units import inches
from marker.words import counted


def import_facts(
    imported: Imported, made: JobFiles, width_mm: float | None, files: Sequence[Path]
) -> dict[str, Any]:
    """All of it as plain values, lengths in mm. width_mm : of the cloth, as in `job_files`."""
    return {
        "name": imported.title,
        "size": imported.size,
        "sizes": list(imported.sizes),
        "rules": len(imported.rules),
        "cloth_width_mm": width_mm,
        "scales": [
            {
                "file": str(scale.file),
                "unit_mm": round(scale.unit_mm, 6),
                "said_by": scale.said,
                "doubt": scale.doubt,
            }
            for scale in imported.scales
        ],
        "pieces": [
            _piece(piece, made.measures_mm.get(piece.name, {})) for piece in imported.pieces
        ],
        "holds": list(imported.holds),
        "passed_over": dict(imported.passed_over),
        "changed": list(imported.changed),
        "left_out": list(made.left_out),
        "no_grain_deg": imported.no_grain_deg,
        "files": [str(path) for path in files],
    }


def _piece(piece: FlatPiece, in_sizes: Mapping[str, tuple[float, float]]) -> dict[str, Any]:
    across, up = np.ptp(piece.outline, axis=0)
    return {
        "name": piece.name,
        "cloth": piece.cloth,
        "cut": piece.cut,
        "mirrored": piece.mirrored,
        "line": piece.line.value,
        "across_mm": round(float(across), 2),
        "up_mm": round(float(up), 2),
        "in_sizes_mm": {
            size: [round(side, 2) for side in sides] for size, sides in in_sizes.items()
        },
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
    yield f"{facts['name']}, {_sizes(facts)}: {counted(len(facts['pieces']), 'piece')}"
    for scale in facts["scales"]:
        yield f"  {scale['file']}: one unit is {scale['unit_mm']:.6g} mm{_why(scale)}"
    if facts["holds"]:
        yield f"  it holds {', '.join(facts['holds'])}"
    yield ""
    yield "Read (across × up in the drawing; check one of them with a ruler):"
    for piece in facts["pieces"]:
        yield _piece_line(piece)
        if len(facts["sizes"]) > 1:
            yield _sizes_line(piece)
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
    if facts["cloth_width_mm"] is None:
        yield f"First write the width of the cloth into {facts['files'][0]}: it is not known yet"
    yield f"Then: marker check {facts['files'][0]}"


def _sizes(facts: dict[str, Any]) -> str:
    if len(facts["sizes"]) == 1:
        return f"size {facts['size']}"
    made = f"graded by {counted(facts['rules'], 'rule')}" if facts["rules"] else "each drawn"
    return f"sizes {', '.join(facts['sizes'])}, {made}, sample size {facts['size']}"


def _sizes_line(piece: dict[str, Any]) -> str:
    """What a piece measures in each size, so that its growth can be checked too."""
    measures = piece["in_sizes_mm"].items()
    same = len({tuple(sides) for _, sides in measures}) == 1
    each = ", ".join(f"{size}: {a / 10:.1f} × {b / 10:.1f}" for size, (a, b) in measures)
    return "    the same in every size" if same else f"    {each} cm"


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
    yield "the selvages of the cloth: 1 cm"
    without = [piece["name"] for piece in facts["pieces"] if not piece["grain_line"]]
    if without:
        way = "to the right" if facts["no_grain_deg"] == 0 else "up"
        yield f"the grain of {', '.join(without)}: {way}, no grain line was drawn"
    yield from facts["changed"]
