"""The tables of what is marked inside a piece, and all that is to be known of their keys."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo

from marker.files.tables import Table, key
from marker.files.values import (
    LARGEST_SIZE_MM,
    LENGTH_SCHEMA,
    Alone,
    Margin,
    Name,
    OneOf,
    Point,
    Size,
    Spoken,
    Text,
    choice,
    faulty,
    table_of,
    to_mm,
    within,
)
from marker.pattern.fullness import PleatKind
from marker.pattern.inner_marks import Hand, MarkKind

MOST_MARK_POINTS = 500


def _at_or_fold(value: Any, info: ValidationInfo) -> float | str:
    return "fold" if value == "fold" else within(0.0, LARGEST_SIZE_MM, to_mm(value, info))


def _inside_place(value: Any) -> Any:
    """A place on a piece: [x, y] in its drawing, or 'edge at 10 cm', with `inside` as a table."""
    return {"point": value} if isinstance(value, list) else table_of("place", value)


def _mark_kind(value: Any) -> MarkKind:
    kind = choice(MarkKind, value)
    if kind.follows:
        raise faulty(f"a {kind} takes in its edge", "List it under darts, pleats or gathers")
    return kind


class ToGrain(StrEnum):
    """How a buttonhole lies to the grain."""

    ACROSS = "across"
    ALONG = "along"


AtOrFold = Annotated[
    float | Literal["fold"],
    BeforeValidator(_at_or_fold),
    Spoken('length of 0 or more, or "fold"', {"anyOf": [{"const": "fold"}, LENGTH_SCHEMA]}),
]


class DartTable(Table):
    """A dart: drawn on the piece and sewn, not cut out.

    Seams walk from leg to leg: the intake does not count. The dart ends at a depth or at a tip.
    """

    edge: Name = key("The edge whose length it takes in.", '"waist"')
    at: AtOrFold = key(
        "The middle of its mouth along the edge, from its first corner; or the fold.",
        '"8 cm"',
        refused="a mouth that reaches beyond the edge or into another dart or pleat",
    )
    intake: Size = key("The width of its mouth.", '"3 cm"')
    depth: Size | None = key(
        "How far it goes in, square to the edge, or along the fold.",
        '"12 cm"',
        default=None,
        usual="given by tip",
        refused="depth and tip together, or neither; a dart that ends outside the piece",
    )
    tip: Point | None = key(
        "Where it ends, as [x, y] in the piece's drawing.",
        "[80, 120]",
        default=None,
        usual="given by depth",
    )


class PleatTable(Table):
    """A pleat or tuck, folded away at the edge. Seams do not count its intake."""

    edge: Name = key("The edge whose length it takes in.", '"waist"')
    at: AtOrFold = key(
        "The middle of what is folded away, along the edge from its first corner; or the fold.",
        '"8 cm"',
        refused="a pleat that reaches beyond the edge or into another dart or pleat",
    )
    intake: Size = key("How much of the edge is folded away.", '"3 cm"')
    kind: Annotated[PleatKind, OneOf()] = key(
        "How it is folded. 'knife pleat': one way. 'box pleat': two folds away from one another. "
        "'inverted pleat': two folds that meet. 'tuck': folded and stitched along its length.",
        '"box pleat"',
        default=PleatKind.KNIFE,
    )
    length: Size = key(
        "How far its lines are drawn, square in from the edge.",
        '"12 cm"',
        default=100.0,
        usual="10 cm",
    )


class GatherTable(Table):
    """A stretch of an edge that is gathered. Seams count what it is gathered into."""

    edge: Name = key("The edge that is gathered.", '"waist"')
    between: Annotated[
        list[str], Field(min_length=2, max_length=2), Spoken("[place, place] on the edge")
    ] = key(
        "From where to where: start, end, middle, fold, a length from the first corner, a notch.",
        '["start", "hip"]',
    )
    into: Size = key(
        "How long it is once gathered.", '"12 cm"', refused="no less than the stretch drawn"
    )


class InsideTable(Table):
    """A place on the piece. Its point or place alone may stand for the table."""

    point: Point | None = key(
        "[x, y] as in the piece's drawing.", "[80, 120]", default=None, usual="given by place"
    )
    place: str | None = key(
        "A place on an edge, such as 'waist at 10 cm'.",
        '"waist at 10 cm"',
        default=None,
        usual="given by point",
    )
    inside: Margin = key(
        "How far in from the place, square to the edge.",
        '"6 cm"',
        default=0.0,
        usual="0",
        refused="a point beside it",
    )


_POINT_SCHEMA = {"type": "array", "items": LENGTH_SCHEMA, "minItems": 2, "maxItems": 2}
InsidePlace = Annotated[
    InsideTable,
    BeforeValidator(_inside_place),
    Alone({"anyOf": [{"type": "string"}, _POINT_SCHEMA]}),
]


class MarkTable(Table):
    """A mark inside the piece: drawn on the cloth, not cut.

    Say where by one of at, points. Drill holes, buttons and texts are points; others are lines.
    """

    kind: Annotated[
        MarkKind,
        BeforeValidator(_mark_kind),
        Spoken(
            "one of " + ", ".join(f'"{kind}"' for kind in MarkKind if not kind.follows),
            {"enum": [kind.value for kind in MarkKind if not kind.follows]},
        ),
    ] = key("What the mark is for.", '"button"', refused="darts, pleats, gathers: they have keys")
    at: InsidePlace | None = key(
        "Where it is.",
        "[80, 120]",
        default=None,
        usual="given by points",
        refused="a place outside the piece",
    )
    points: Annotated[list[InsidePlace], Field(max_length=MOST_MARK_POINTS)] = key(
        "Places of several marks, or the points of a line; at most 500.",
        "[[80, 120], [80, 200]]",
        default=[],
        usual="given by at",
        refused="a place outside the piece",
    )
    count: Annotated[int, Field(ge=2, le=100)] | None = key(
        "So many points or buttonholes evenly from the first of two points to the last.",
        "5",
        default=None,
        usual="as many as points",
    )
    closed: bool = key("Whether the line goes back to its first point.", "true", default=False)
    length: Size | None = key(
        "The length of a buttonhole.", '"2 cm"', default=None, refused="a mark of another kind"
    )
    lies: Annotated[ToGrain, OneOf()] = key(
        "How a buttonhole lies to the grain.", '"along"', default=ToGrain.ACROSS
    )
    name: Text = key(
        "What is written beside it; the text of a mark of kind 'text'.",
        '"patch pocket"',
        default="",
        usual="nothing",
    )
    hand: Annotated[Hand, OneOf()] = key(
        "On which hands of a pair, or halves of a piece on the fold, it is made.",
        '"as drawn"',
        default=Hand.BOTH,
    )
