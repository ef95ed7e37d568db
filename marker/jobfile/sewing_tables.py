"""The tables of a job file that say what is sewn to what, and all that is to be known of them."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from marker.cloth.behaviour import Direction
from marker.cloth.repeat import Axis
from marker.files.tables import Table, key
from marker.files.values import (
    MOST_COPIES,
    Alone,
    Coordinate,
    Margin,
    Name,
    Number,
    OneOf,
    OrText,
    Size,
    Spoken,
)
from marker.pattern.bands.strip import AtPoint, Fold, Join, Lies
from marker.pattern.seams.sewing import DEFAULT_TOLERANCE_MM

Copies = Annotated[int, Field(ge=1, le=MOST_COPIES)]
EdgeList = Annotated[list[str], Field(min_length=1), Spoken("list of edges")]
PointPair = Annotated[list[Name], Field(min_length=2, max_length=2), Spoken("pair of points")]


class LapTable(Table):
    """What a band goes on beyond the ends of its opening, finished."""

    start: Size | None = key("At its first end.", '"15 mm"', default=None, usual="nothing")
    end: Size | None = key("At its last end.", '"3 cm"', default=None, usual="nothing")


class InterfacingTable(Table):
    """What stiffens a strip. The name of the cloth may stand for the table."""

    cloth: Name = key("The cloth of the interfacing.", '"fusible"')
    trim: Margin = key(
        "How much smaller it is than the strip, on each side; of an allowance of 10 mm 3 are left.",
        '"7 mm"',
        default=7.0,
        usual="7 mm",
    )


class StripTable(Table):
    """A band, binding, belt, cuff or tie. See the topics 'strips' and 'bands'.

    Say how wide it is by exactly one of width, finished_width. Say how long it is by exactly one of
    length, ratio, shorter_by, lies_flat.
    """

    name: Name = key("Its name, unlike that of any other strip or piece.", '"neck binding"')
    cloth: Name | None = key(
        "The cloth it is cut from.", '"jersey"', default=None, usual="the main cloth"
    )
    width: Size | None = key(
        "Its cut width.",
        '"2 in"',
        default=None,
        usual="given by finished_width",
        refused="a width that the seam allowances eat up",
    )
    finished_width: Size | None = key(
        "Its width once folded and sewn; needs `fold`.",
        '"1/2 in"',
        default=None,
        usual="given by width",
    )
    fold: Annotated[Fold, OneOf()] | None = key(
        "How it is folded. 'flat': one layer, a seam along both long edges. 'single': folded once, "
        "both raw edges in the seam. 'double': raw edges folded to the middle, cut four times the "
        "finished width.",
        '"double"',
        default=None,
        usual="not known, and so is the finished width",
    )
    seam_allowance: Margin | None = key(
        "Along each long edge of a flat or single-folded strip.",
        '"10 mm"',
        default=None,
        usual="10 mm",
        refused="a double fold, or no fold, beside it",
    )
    length: Size | None = key(
        "Its cut length, all allowances included.",
        '"80 cm"',
        default=None,
        refused="`finishes` beside it",
    )
    ratio: Annotated[Number, Field(gt=0, le=2)] | None = key(
        "Its length between the joins as a share of the opening's stitching line.",
        "0.85",
        default=None,
    )
    shorter_by: Margin | None = key(
        "How much shorter it is between the joins than the opening's stitching line.",
        '"1 in"',
        default=None,
    )
    lies_flat: bool = key(
        "Between the joins it is as long as the opening's inner edge, the finished width inside.",
        "true",
        default=False,
        refused="no finished width to know the inner edge by",
    )
    finishes: Name | None = key(
        "The opening that it finishes; needed by all but `length`.", '"neckline"', default=None
    )
    unstretched: list[PointPair] = key(
        "Pairs of the opening's points. Between the two of a pair, by the shorter way and in every "
        "place they have, the band is sewn on without stretching.",
        '[["front shoulder", "back shoulder"]]',
        default=[],
        usual="none",
    )
    join_at: Name | None = key(
        "The opening's point where a ring is closed.",
        '"centre back"',
        default=None,
        usual="the point farthest from those it keeps clear of",
    )
    joins_clear_of: list[Name] | None = key(
        "Points of the opening that no join comes within 25 mm of, if there is such a place.",
        '["centre front"]',
        default=None,
        usual='"centre front", and every point with "shoulder" in its name',
    )
    point: Annotated[AtPoint, OneOf()] | None = key(
        "How it goes round a corner of its opening. 'mitred': sewn along the line that halves the "
        "corner. 'lapped': its ends lie over one another there.",
        '"lapped"',
        default=None,
        usual='"mitred"',
        refused="an opening without a corner",
    )
    lies: Annotated[Lies, OneOf()] = key(
        "'flat': in the plane of its opening, as around a neck. 'standing': up from it, as a "
        "waistband or a cuff; then it is as long as its opening unless ratio or shorter_by says "
        "otherwise.",
        '"standing"',
        default=Lies.FLAT,
    )
    underlap: LapTable | None = key(
        "What it goes on beyond an end of its opening, beneath the other end.",
        '{ end = "3 cm" }',
        default=None,
        usual="none",
        refused="an opening that goes all round; an end with an overlap",
    )
    overlap: LapTable | None = key(
        "What it goes on beyond an end of its opening, above the other end.",
        '{ start = "15 mm" }',
        default=None,
        usual="none",
        refused="an opening that goes all round; an end with an underlap",
    )
    interfacing: Annotated[InterfacingTable, OrText("cloth")] | None = key(
        "What it is stiffened with: a second strip, named after it, trimmed on every side.",
        '"fusible"',
        default=None,
        usual="nothing",
        refused="a trim that leaves nothing of its width",
    )
    direction: Annotated[Direction, OneOf()] = key(
        "How its length lies on the cloth.", '"bias"', default=Direction.CROSSGRAIN
    )
    join: Annotated[Join, OneOf()] | None = key(
        "How its parts are joined.",
        '"straight"',
        default=None,
        usual='"diagonal" on the bias, else "straight"',
    )
    join_allowance: Margin = key(
        "At straight joins, and at the ends of a band that is no ring.",
        '"10 mm"',
        default=10.0,
        usual="10 mm",
    )
    cut: Copies = key("How many are cut for a garment.", "2", default=1)
    parts: Copies = key(
        "In how many equal parts it is cut, or more where the cloth is too narrow.",
        "2",
        default=1,
    )


def _side(value: Any) -> Any:
    """One side of a seam: a single edge, a list of them, or a table that also says the ease."""
    edges = [value] if isinstance(value, str) else value
    return {"edges": edges} if isinstance(edges, list) else edges


class SideTable(Table):
    """One side of a seam. An edge, or a list of edges, may stand for the table."""

    edges: EdgeList = key(
        "The edges of the side, walked one after the other.",
        '["skirt front.waist", "skirt back.waist"]',
    )
    ease: Coordinate = key(
        "How much longer than the finished seam the side is meant to be; negative where it is "
        "stretched.",
        '"10 mm"',
        default=0.0,
        usual="0",
    )


_TEXTS = {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}


class SeamTable(Table):
    """What is sewn to what. See the topic 'seams'."""

    name: Name = key("Its name, unlike that of any other seam.", '"waist"')
    sides: Annotated[
        list[Annotated[SideTable, BeforeValidator(_side), Alone(_TEXTS)]], Field(min_length=2)
    ] = key(
        "Two sides or more, all walked from the same end. Each is an edge, a list of edges joined "
        "end to end, or a table with `ease`.",
        '["front.side", { edges = ["back.side"], ease = "5 mm" }]',
    )
    tolerance: Margin = key(
        "How far the sides may miss one another.",
        '"2 mm"',
        default=DEFAULT_TOLERANCE_MM,
        usual=f"{DEFAULT_TOLERANCE_MM:g} mm",
    )


class OpeningTable(Table):
    """Edges that together make one opening, such as a neckline. See the topic 'places'."""

    name: Name = key("Its name, unlike that of any other opening.", '"neckline"')
    edges: EdgeList = key(
        "Its edges, in order around it; `reversed` where one is walked from its last corner.",
        '["bodice front.neck", "bodice back.neck"]',
    )
    closed: bool = key("Whether it goes all round.", "false", default=True)
    points: dict[Name, Annotated[str, Spoken("place")]] = key(
        "Places on it by name, each `piece.edge at` a place.",
        '{ "centre front" = "bodice front.neck at fold", tip = "bodice front.neck at start" }',
        default={},
        usual="none",
        refused="a place on an edge that is not listed, or beyond it as drawn",
    )
    passes: Size | None = key(
        "The girth of what must pass through it, such as the head.",
        '"57 cm"',
        default=None,
        usual="nothing is checked",
    )


class GirthTable(Table):
    """Where the garment goes around the body. See the topic 'stretch'."""

    name: Name = key("Its name, unlike that of any other girth.", '"waist"')
    edges: EdgeList = key(
        "The edges once around, those of both halves.",
        '["bodice front.waist", "bodice back.waist"]',
    )
    body: Size = key("What it must reach, stretched.", '"72 cm"')


class MatchPlaceTable(Table):
    """A place that is matched. The place alone may stand for the table."""

    place: str = key("`piece.edge at` a place.", '"bodice front.side at 10 cm"')
    inside: Margin = key(
        "How far in from there, square to the edge.",
        '"6 cm"',
        default=0.0,
        usual="0",
        refused="a place outside the piece",
    )


class MatchAtTable(Table):
    """Where in the cloth's repeat the first point lies, from where the repeat begins."""

    along: Margin | None = key("Along the cloth.", '"2 cm"', default=None, usual="anywhere")
    across: Margin | None = key("Across it.", '"2 cm"', default=None, usual="anywhere")


class MatchTable(Table):
    """Two places that show the same place of the cloth's repeat when sewn.

    See the topic 'matches'.
    """

    name: Name = key("Its name, unlike that of any other match.", '"side"')
    points: Annotated[
        list[Annotated[MatchPlaceTable, OrText("place")]], Field(min_length=1, max_length=2)
    ] = key(
        "The two places; or one, with `at`.",
        '["bodice front.side at 10 cm", "bodice back.side at 10 cm"]',
        refused="pieces of different cloths; a piece that may tilt, or lie both along and across",
    )
    axes: Annotated[list[Annotated[Axis, OneOf()]], Field(min_length=1)] | None = key(
        "In which directions they match.",
        '["along"]',
        default=None,
        usual="all in which the cloth repeats",
        refused="a direction in which the cloth does not repeat",
    )
    at: MatchAtTable = key(
        "Where in the repeat the first point lies.",
        '{ along = "2 cm" }',
        default=MatchAtTable(),
        usual="anywhere",
        refused="a direction that is not matched",
    )
