"""Tables of a job file for what was drafted: keys and values, without what goes without saying."""

from __future__ import annotations

from typing import Any

from marker.blocks.garment import FOLD, Draft
from marker.cloth.fabric import Cloth
from marker.exchange.svg.drafted import draft_id
from marker.pattern.bands.strip import (
    AtPoint,
    ByRatio,
    CutLength,
    Fold,
    Join,
    Lap,
    LapKind,
    Lies,
    LiesFlat,
    ShorterBy,
    Strip,
    layers,
)
from marker.pattern.edge import Hem
from marker.pattern.fullness import Dart, Gather, Pleat, TakenIn
from marker.pattern.inner_marks import Hand
from marker.pattern.piece import Line, Recipe
from marker.pattern.seams.sewing import DEFAULT_TOLERANCE_MM, Girth, Opening, Seam, Side, Spot
from marker.units import inches

_EIGHTH_INCH_MM = 25.4 / 8

Rows = dict[str, Any]
"""A table: key -> what TOML can hold."""

NOTE = "note"
"""The row that becomes a comment."""


def _said(**keys: Any) -> Rows:
    """The keys that say something."""
    silent: tuple[Any, ...] = ("", [], {})
    return {
        key: value
        for key, value in keys.items()
        if value is not None and value is not False and value not in silent
    }


def cloth_rows(cloth: Cloth) -> Rows:
    """A cloth's table."""
    price = cloth.price and {
        "amount": cloth.price.amount,
        "per": length_text(cloth.price.per_mm),
        "currency": cloth.price.currency,
    }
    stretch = cloth.gauge and {
        str(direction): _reading(reading) for direction, reading in cloth.gauge.readings_mm.items()
    }
    return _said(
        width=length_text(cloth.width_mm),
        selvage=length_text(cloth.selvage_mm) if cloth.selvage_mm else None,
        nap=str(cloth.nap),
        end_allowance=length_text(cloth.end_allowance_mm),
        sold_by=length_text(cloth.sold_by_mm),
        stretch=stretch,
        price=price,
    )


def _reading(mm: float) -> str:
    """What 4 in stretch to, in inches where that is a whole number of eighths."""
    eighths = mm / _EIGHTH_INCH_MM
    return inches(mm) if abs(eighths - round(eighths)) < 1e-6 else length_text(mm)


def piece_rows(piece: Draft, drawing: str, main: str) -> Rows:
    """A piece's table, but for what is marked inside it. drawing : its file. main : the main
    cloth's name."""
    corners = {name: list(pair) for name, pair in piece.corners.items()}
    fold = corners.pop(FOLD, None)
    return _said(
        name=piece.name,
        note=piece.note,
        cloth="" if piece.cloth in ("", main) else piece.cloth,
        drawing=f"{drawing}#{draft_id(piece.name)}",
        line=str(Line.STITCHING),
        allowance=length_text(piece.allowance_mm),
        cut=None if piece.cut == 1 else piece.cut,
        pair=piece.pair,
        fold=fold,
        grain=None if piece.grain_deg == 90.0 else piece.grain_deg,
        turns=None if piece.turns == (0.0, 180.0) else list(piece.turns),
        edges=corners,
        allowances={name: length_text(mm) for name, mm in piece.allowances.items()},
        hems={name: _hem(hem) for name, hem in piece.hems.items()},
        notches=[
            _said(edge=notch.edge, at=length_text(notch.at_mm), name=notch.name)
            for notch in piece.notches
        ],
    )


def derived_rows(derived: Recipe) -> Rows:
    """The table of a piece that follows from all of another."""
    return _said(
        name=derived.name,
        of=derived.of,
        cloth=derived.cloth,
        line=str(Line.CUT) if derived.from_cut_line else None,
        trim=length_text(derived.trim_mm) if derived.trim_mm else None,
        trims={name: length_text(mm) for name, mm in derived.trims_mm.items()},
        cut=derived.cut,
        allowance=length_text(derived.allowance_mm) if derived.allowance_mm else None,
        hems={name: _hem(edge.hem) for name, edge in derived.edges.items() if edge.hem},
    )


def inside_rows(piece: Draft, at: complex) -> Rows:
    """What is marked inside a piece whose box lies at `at` in its drawing."""

    def in_drawing(point: complex) -> list[str]:
        moved = point - piece.corner + at
        return [length_text(moved.real), length_text(-moved.imag)]  # a job counts up

    return _said(
        darts=[
            _mouth(each) | {"depth": length_text(each.depth_mm)}
            for each in piece.fullness
            if isinstance(each, Dart)
        ],
        pleats=[
            _mouth(each) | {"kind": str(each.kind), "length": length_text(each.length_mm)}
            for each in piece.fullness
            if isinstance(each, Pleat)
        ],
        gathers=[
            {
                "edge": each.edge,
                "between": [_spot(piece, each.edge, at) for at in (each.start_mm, each.end_mm)],
                "into": length_text(each.into_mm),
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
                length=length_text(mark.length_mm) if mark.length_mm else None,
                hand=None if mark.hand is Hand.BOTH else str(mark.hand),
            )
            for mark in piece.marks
        ],
    )


def _spot(piece: Draft, edge: str, at_mm: float) -> str:
    """A place on an edge; its ends by name, for they must not lie beyond it by a rounding."""
    if at_mm < 1:
        return str(Spot.START)
    return str(Spot.END) if at_mm > piece.length(edge) - 1 else length_text(at_mm)


def _mouth(taken: TakenIn) -> Rows:
    middle = (taken.start_mm + taken.end_mm) / 2
    return {"edge": taken.edge, "at": length_text(middle), "intake": length_text(taken.drawn_mm)}


def _hem(hem: Hem) -> str | Rows:
    if hem == Hem.usual(hem.kind):
        return str(hem.kind)
    return _said(
        kind=str(hem.kind),
        depth=length_text(hem.depth_mm),
        under=None if hem.under_mm == min(Hem.usual(hem.kind).under_mm, hem.depth_mm)
        else length_text(hem.under_mm),
    )  # fmt: skip


def opening_rows(opening: Opening) -> Rows:
    """An opening's table."""
    return _said(
        name=opening.name,
        edges=list(map(str, opening.edges)),
        points={
            name: f"{at.edge} at {length_text(at.at) if isinstance(at.at, float) else at.at}"
            for name, at in opening.points.items()
        },
        passes=None if opening.passes_mm is None else length_text(opening.passes_mm),
    ) | ({} if opening.closed else {"closed": False})


def girth_rows(girth: Girth) -> Rows:
    """A girth's table."""
    return _said(
        name=girth.name, edges=list(map(str, girth.edges)), body=length_text(girth.body_mm)
    )


def strip_rows(strip: Strip, main: str) -> Rows:
    """A strip's table. main : the main cloth's name."""
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
        join_allowance=None
        if strip.join_allowance_mm == 10
        else length_text(strip.join_allowance_mm),
        cut=None if strip.cut == 1 else strip.cut,
        parts=None if strip.least_parts == 1 else strip.least_parts,
        point=None if strip.point is AtPoint.MITRED else str(strip.point),
        lies=None if strip.lies is Lies.FLAT else str(strip.lies),
        underlap=_laps(strip, LapKind.UNDER),
        overlap=_laps(strip, LapKind.OVER),
        interfacing=strip.interfacing
        and {
            "cloth": strip.interfacing.cloth,
            "trim": length_text(strip.interfacing.trim_mm),
        },
    )


def _laps(strip: Strip, kind: LapKind) -> Rows:
    ends: dict[str, Lap | None] = {"start": strip.start_lap, "end": strip.end_lap}
    return {end: length_text(lap.mm) for end, lap in ends.items() if lap and lap.kind is kind}


def _widths(strip: Strip) -> Rows:
    if strip.fold is None or strip.finished_mm is None:
        return {"width": length_text(strip.width_mm)}
    seam = (strip.width_mm - layers(strip.fold) * strip.finished_mm) / 2
    own = strip.fold is not Fold.DOUBLE and seam != 10
    return {
        "finished_width": length_text(strip.finished_mm),
        "fold": str(strip.fold),
        **({"seam_allowance": length_text(seam)} if own else {}),
    }


def _length(strip: Strip) -> Rows:
    match strip.length:
        case CutLength(mm):
            return {"length": length_text(mm)}
        case ByRatio(ratio):
            return {"ratio": round(ratio, 4)}
        case ShorterBy(0.0) if strip.lies is Lies.STANDING:
            return {}
        case ShorterBy(mm):
            return {"shorter_by": length_text(mm)}
        case LiesFlat():
            return {"lies_flat": True}


def seam_rows(seam: Seam) -> Rows:
    """A seam's table."""
    usual = seam.tolerance_mm == DEFAULT_TOLERANCE_MM
    return _said(
        name=seam.name,
        sides=list(map(_side, seam.sides)),
        tolerance=None if usual else length_text(seam.tolerance_mm),
    )


def _side(side: Side) -> Any:
    edges = list(map(str, side.edges))
    if side.ease_mm:
        return {"edges": edges, "ease": length_text(side.ease_mm)}
    return edges[0] if len(edges) == 1 else edges


def length_text(length: float) -> str:
    """A length as people write it: '10 mm', '50.87 cm'."""
    if abs(length) >= 100:
        return f"{length / 10:.2f}".rstrip("0").rstrip(".") + " cm"
    return f"{length:.1f}".rstrip("0").rstrip(".") + " mm"
