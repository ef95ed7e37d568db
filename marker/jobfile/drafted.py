"""A drafted garment as a job file with its drawings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from marker.blocks.draft import FOLD, Block, Draft, Drafted
from marker.cloth.fabric import Cloth
from marker.exchange.svg.drafted import draft_id, draft_places, draft_text
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.jobfile.sizes import SIZE
from marker.jobfile.toml_text import assignment, merged, quoted
from marker.jobfile.writing import DRAWING, DRAWINGS, JOB
from marker.pattern.bands.strip import (
    AtPoint,
    ByRatio,
    CutLength,
    Fold,
    Join,
    LiesFlat,
    ShorterBy,
    Strip,
    layers,
)
from marker.pattern.edge import Hem
from marker.pattern.fullness import Dart, Gather, Pleat, TakenIn
from marker.pattern.inner_marks import Hand
from marker.pattern.piece import Line
from marker.pattern.seams.sewing import DEFAULT_TOLERANCE_MM, Girth, Opening, Seam, Side, Spot

_REFERENCE = """\
# Change what you like: `marker reference` says what each key may be.
# The drawings show stitching lines; an edge runs from corner to corner in the order drawn."""
_NOTE = "note"  # a row that becomes a comment
_USUAL = {"cut": 1, "pair": False, "grain": 90.0, "turns": [0.0, 180.0], _NOTE: ""}


def drafted_files(drafted: Drafted, title: str) -> dict[str, str]:
    """Name of each file -> its text: the job, called `title`, and a drawing for each size."""
    drawing = DRAWINGS if len(drafted.sizes) > 1 else DRAWING
    texts = {JOB: _job_text(drafted, title, drawing)}
    for size, block in drafted.sizes.items():
        heading = f"{title}, size {size}, stitching lines in mm"
        texts[drawing.replace(SIZE, size)] = draft_text(heading, block.pieces)
    return texts


def job_of(drafted: Drafted, title: str) -> Job:
    """The job as it is read from its files."""
    with TemporaryDirectory() as folder:
        for name, text in drafted_files(drafted, title).items():
            (Path(folder) / name).write_text(text, encoding="utf-8")
        return read_job(Path(folder) / JOB)


def _job_text(drafted: Drafted, title: str, drawing: str) -> str:
    own = drafted.sizes[drafted.sample]
    lines = [*_head(drafted), f"name = {quoted(title)}", f"size = {quoted(drafted.sample)}"]
    if len(drafted.sizes) > 1:
        lines.append(assignment("sizes", list(drafted.sizes)))
    lines += ["", "[order]", f"{quoted(drafted.sample)} = 1"]
    for cloth in own.cloths:
        lines += ["", f"[cloth.{quoted(cloth.name)}]", *_rows(_cloth(cloth))]
    by_size: dict[str, list[tuple[str, list[dict[str, Any]]]]] = {
        size: _tables(block, drawing) for size, block in drafted.sizes.items()
    }
    for number, (kind, tables) in enumerate(by_size[drafted.sample]):
        for k in range(len(tables)):
            sized = {size: rows[number][1][k] for size, rows in by_size.items()}
            lines += ["", f"[[{kind}]]", *_rows(_in_all_sizes(sized))]
    return "\n".join(lines) + "\n"


def _in_all_sizes(sized: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    """One table for all sizes; a key that some sizes lack has its usual value in them, or else is
    an empty list. A note that differs is told for each size."""
    keys = dict.fromkeys(key for table in sized.values() for key in table)
    found = {
        key: merged({size: table.get(key, _USUAL.get(key, [])) for size, table in sized.items()})
        for key in keys
    }
    if isinstance(found.get(_NOTE), dict):
        notes = {size: table[_NOTE] for size, table in sized.items() if table.get(_NOTE)}
        found[_NOTE] = "; ".join(f"{size}: {note}" for size, note in notes.items())
    return found


def _head(drafted: Drafted) -> Iterator[str]:
    yield f"# {drafted.says}"
    yield f"# Drafted by {drafted.method}."
    for size, measures in drafted.measures.items():
        said = ", ".join(f"{name.replace('_', ' ')} {mm / 10:g}" for name, mm in measures.items())
        if said:
            yield f"# Size {size}, body in cm: {said}."
    if drafted.options:
        said = ", ".join(f"{name.replace('_', ' ')} {v}" for name, v in drafted.options.items())
        yield f"# Chosen: {said}."
    yield _REFERENCE


def _tables(block: Block, drawing: str) -> list[tuple[str, list[dict[str, Any]]]]:
    """Kind of table -> the tables of that kind, without what goes without saying."""
    main = block.cloths[0].name
    kinds = {
        "piece": [
            _piece(piece, drawing, main) | _inside(piece, at)
            for piece, at in zip(block.pieces, draft_places(block.pieces), strict=True)
        ],
        "opening": [_opening(opening) for opening in block.openings],
        "girth": [_girth(girth) for girth in block.girths],
        "strip": [_strip(strip, main) for strip in block.strips],
        "seam": [_seam(each) for each in block.seams],
    }
    for tables in kinds.values():
        for table in tables:
            if table["name"] in block.notes:
                table[_NOTE] = block.notes[table["name"]]
    return list(kinds.items())


def _rows(table: Mapping[str, Any]) -> Iterator[str]:
    """The keys and values, the note beside the first of them."""
    note = table.get(_NOTE, "")
    for number, (key, value) in enumerate((k, v) for k, v in table.items() if k != _NOTE):
        yield assignment(key, value) + (f"  # {note}" if note and number == 0 else "")


def _said(**keys: Any) -> dict[str, Any]:
    """The keys that say something."""
    silent: tuple[Any, ...] = ("", [], {})
    return {
        key: value
        for key, value in keys.items()
        if value is not None and value is not False and value not in silent
    }


def _cloth(cloth: Cloth) -> dict[str, Any]:
    stretch = cloth.gauge and {
        str(direction): _mm(reading) for direction, reading in cloth.gauge.readings_mm.items()
    }
    return _said(
        width=_mm(cloth.width_mm),
        selvage=_mm(cloth.selvage_mm),
        nap=str(cloth.nap),
        end_allowance=_mm(cloth.end_allowance_mm),
        sold_by=_mm(cloth.sold_by_mm),
        stretch=stretch,
        note="put in your own cloth: its width, and what it is sold by",
    )


def _piece(piece: Draft, drawing: str, main: str) -> dict[str, Any]:
    corners = {name: list(pair) for name, pair in piece.corners.items()}
    fold = corners.pop(FOLD, None)
    return _said(
        name=piece.name,
        note=piece.note,
        cloth="" if piece.cloth in ("", main) else piece.cloth,
        drawing=f"{drawing}#{draft_id(piece.name)}",
        line=str(Line.STITCHING),
        allowance=_mm(piece.allowance_mm),
        cut=None if piece.cut == 1 else piece.cut,
        pair=piece.pair,
        fold=fold,
        grain=None if piece.grain_deg == 90.0 else piece.grain_deg,
        turns=None if piece.turns == (0.0, 180.0) else list(piece.turns),
        edges=corners,
        allowances={name: _mm(mm) for name, mm in piece.allowances.items()},
        hems={name: _hem(hem) for name, hem in piece.hems.items()},
        notches=[
            _said(edge=notch.edge, at=_mm(notch.at_mm), name=notch.name) for notch in piece.notches
        ],
    )


def _inside(piece: Draft, at: complex) -> dict[str, Any]:
    """What is marked inside a piece whose box lies at `at` in its drawing."""

    def in_drawing(point: complex) -> list[str]:
        moved = point - piece.corner + at
        return [_mm(moved.real), _mm(-moved.imag)]  # a job counts up

    return _said(
        darts=[
            _mouth(each) | {"depth": _mm(each.depth_mm)}
            for each in piece.fullness
            if isinstance(each, Dart)
        ],
        pleats=[
            _mouth(each) | {"kind": str(each.kind), "length": _mm(each.length_mm)}
            for each in piece.fullness
            if isinstance(each, Pleat)
        ],
        gathers=[
            {
                "edge": each.edge,
                "between": [_spot(piece, each.edge, at) for at in (each.start_mm, each.end_mm)],
                "into": _mm(each.into_mm),
            }
            for each in piece.fullness
            if isinstance(each, Gather)
        ],
        marks=[
            _said(
                kind=str(mark.kind),
                points=list(map(in_drawing, mark.points)),
                name=mark.name,
                closed=mark.closed,
                count=None if mark.count == 1 else mark.count,
                length=_mm(mark.length_mm) if mark.length_mm else None,
                hand=None if mark.hand is Hand.BOTH else str(mark.hand),
            )
            for mark in piece.marks
        ],
    )


def _spot(piece: Draft, edge: str, at_mm: float) -> str:
    """A place on an edge; its ends by name, for they must not lie beyond it by a rounding."""
    if at_mm < 1:
        return str(Spot.START)
    return str(Spot.END) if at_mm > piece.length(edge) - 1 else _mm(at_mm)


def _mouth(taken: TakenIn) -> dict[str, Any]:
    middle = (taken.start_mm + taken.end_mm) / 2
    return {"edge": taken.edge, "at": _mm(middle), "intake": _mm(taken.drawn_mm)}


def _hem(hem: Hem) -> str | dict[str, Any]:
    if hem == Hem.usual(hem.kind):
        return str(hem.kind)
    return _said(
        kind=str(hem.kind),
        depth=_mm(hem.depth_mm),
        under=None if hem.under_mm == min(Hem.usual(hem.kind).under_mm, hem.depth_mm)
        else _mm(hem.under_mm),
    )  # fmt: skip


def _opening(opening: Opening) -> dict[str, Any]:
    return _said(
        name=opening.name,
        edges=list(map(str, opening.edges)),
        points={
            name: f"{place.edge} at {_mm(place.at) if isinstance(place.at, float) else place.at}"
            for name, place in opening.points.items()
        },
        passes=None if opening.passes_mm is None else _mm(opening.passes_mm),
    ) | ({} if opening.closed else {"closed": False})


def _girth(girth: Girth) -> dict[str, Any]:
    return _said(name=girth.name, edges=list(map(str, girth.edges)), body=_mm(girth.body_mm))


def _strip(strip: Strip, main: str) -> dict[str, Any]:
    usual_join = Join.DIAGONAL if strip.direction == "bias" else Join.STRAIGHT
    return _said(
        name=strip.name,
        cloth="" if strip.cloth in ("", main) else strip.cloth,
        **_widths(strip),
        **_length(strip),
        finishes=strip.finishes,
        unstretched=[list(pair) for pair in strip.unstretched],
        join_at=strip.join_at,
        joins_clear_of=strip.joins_clear_of and list(strip.joins_clear_of),
        direction=None if strip.direction == "crossgrain" else str(strip.direction),
        join=None if strip.join is usual_join else str(strip.join),
        join_allowance=None if strip.join_allowance_mm == 10 else _mm(strip.join_allowance_mm),
        cut=None if strip.cut == 1 else strip.cut,
        parts=None if strip.least_parts == 1 else strip.least_parts,
        point=None if strip.point is AtPoint.MITRED else str(strip.point),
    )


def _widths(strip: Strip) -> dict[str, Any]:
    if strip.fold is None or strip.finished_mm is None:
        return {"width": _mm(strip.width_mm)}
    seam = (strip.width_mm - layers(strip.fold) * strip.finished_mm) / 2
    own = strip.fold is not Fold.DOUBLE and seam != 10
    return {
        "finished_width": _mm(strip.finished_mm),
        "fold": str(strip.fold),
        **({"seam_allowance": _mm(seam)} if own else {}),
    }


def _length(strip: Strip) -> dict[str, Any]:
    match strip.length:
        case CutLength(mm):
            return {"length": _mm(mm)}
        case ByRatio(ratio):
            return {"ratio": round(ratio, 4)}
        case ShorterBy(mm):
            return {"shorter_by": _mm(mm)}
        case LiesFlat():
            return {"lies_flat": True}


def _seam(seam: Seam) -> dict[str, Any]:
    usual = seam.tolerance_mm == DEFAULT_TOLERANCE_MM
    return _said(
        name=seam.name,
        sides=list(map(_side, seam.sides)),
        tolerance=None if usual else _mm(seam.tolerance_mm),
    )


def _side(side: Side) -> Any:
    edges = list(map(str, side.edges))
    if side.ease_mm:
        return {"edges": edges, "ease": _mm(side.ease_mm)}
    return edges[0] if len(edges) == 1 else edges


def _mm(length: float) -> str:
    """A length as people write it: '10 mm', '50.87 cm'."""
    if abs(length) >= 100:
        return f"{length / 10:.2f}".rstrip("0").rstrip(".") + " cm"
    return f"{length:.1f}".rstrip("0").rstrip(".") + " mm"
