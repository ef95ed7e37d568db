"""Tables of pieces made from other pieces: derived ones, and those that a change leaves."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from marker.files.tables import Table, key
from marker.files.values import Margin, Name, OneOf, OrText, Size, Spoken
from marker.jobfile.piece_table import (
    ALLOWANCE,
    CLOTH,
    CORNERS,
    HEMS,
    Copies,
    Hems,
    HemTable,
    HowCornersEnd,
    Turns,
)
from marker.pattern.piece import Line


class NearTable(Table):
    """A part of a piece along some of its edges, as a facing is."""

    edges: Annotated[list[Name], Field(min_length=1), Spoken("list of edges")] = key(
        "The edges of the piece that it follows.", '["neck"]'
    )
    within: Size = key(
        "How far in from them it reaches.", '"6 cm"', refused="a part with holes, or several parts"
    )


class DerivedTable(Table):
    """A piece that follows from another in every size: a lining, an interfacing, a facing.

    It has the piece's fold, grain, edges and notches; a part of it has the further edge "inner".
    """

    name: Name = key("Its name, unlike that of any other piece or strip.", '"front facing"')
    of: Name = key(
        "The piece it follows from.", '"bodice front"', refused="a piece that is derived itself"
    )
    cloth: Name | None = CLOTH
    line: Annotated[Line, OneOf()] = key(
        "Which line of the piece it takes. 'stitching line': a lining or a facing, with allowances "
        "of its own. 'cut line': an interfacing.",
        '"cut line"',
        default=Line.STITCHING,
        refused="a cut line beside allowance, allowances or hems",
    )
    trim: Margin = key(
        "How much smaller it is along every edge but the fold.",
        '"7 mm"',
        default=0.0,
        usual="0",
        refused="a trim that leaves nothing",
    )
    trims: dict[Name, Margin] = key(
        "Edge -> how much smaller it is there.", '{ hem = "2 cm" }', default={}, usual="`trim`"
    )
    near: NearTable | None = key(
        "Only the part along some edges.",
        '{ edges = ["neck"], within = "6 cm" }',
        default=None,
        usual="all of it",
        refused="a piece with cut-outs",
    )
    cut: Copies | None = key(
        "How many are cut for a garment.", "2", default=None, usual="as many as of the piece"
    )
    pair: bool | None = key(
        "Half of them are mirrored.", "true", default=None, usual="as of the piece"
    )
    turns: Turns | None = key(
        "Allowed turns from the cloth's direction, in degrees.",
        "[0, 90, 180, 270]",
        default=None,
        usual="as of the piece",
    )
    allowance: Margin = ALLOWANCE
    allowances: dict[Name, Margin] = key(
        "Edge -> its own allowance.",
        '{ inner = "5 mm" }',
        default={},
        usual="`allowance`",
        refused="an edge that has a hem",
    )
    hems: Hems = HEMS
    corners: HowCornersEnd = CORNERS


class Keep(StrEnum):
    """The part of a piece that is kept, as it is drawn with its grain arrow pointing up."""

    ABOVE = "above"
    BELOW = "below"
    LEFT = "left"
    RIGHT = "right"


class ChangeTable(Table):
    """A change of a piece at a straight line, in every size. See the topic 'changes'.

    Say what is done by exactly one of lengthen, shorten, widen, narrow, keep, split.
    """

    piece: Name = key(
        "The piece that is changed, as the changes above leave it.",
        '"dress front"',
        refused="a piece that is derived",
    )
    line: Annotated[list[str], Field(min_length=1, max_length=2), Spoken("one or two places")] = (
        key(
            "The line: through two places on the piece's edges, or square through one of them: "
            "across the grain, or along it to widen, narrow, or keep the left or right.",
            '["side at 38 cm"]',
            refused="a line that misses the piece, or cuts through a dart, a mark or a cut-out",
        )
    )
    lengthen: Size | None = key(
        "How much longer the piece becomes at a line across it.", '"3 cm"', default=None
    )
    shorten: Size | None = key(
        "How much shorter the piece becomes at a line across it.",
        '"3 cm"',
        default=None,
        refused="more than the edges give between the corners beside the line",
    )
    widen: Size | None = key(
        "How much wider the piece drawn becomes at a line along it.", '"2 cm"', default=None
    )
    narrow: Size | None = key(
        "How much narrower the piece drawn becomes at a line along it.", '"2 cm"', default=None
    )
    keep: Annotated[Keep, OneOf()] | None = key(
        "The piece is cropped at the line, and this part of it kept.", '"above"', default=None
    )
    split: Annotated[list[Name], Field(min_length=2, max_length=2), Spoken("two names")] | None = (
        key(
            "The piece is cut at the line. Names of its parts: the upper and the lower, or of a "
            "line along the grain the left and the right.",
            '["top front", "skirt front"]',
            default=None,
            refused="names that other pieces or strips have",
        )
    )
    edge: Name = key(
        "Name of the edge along a cut, on each part.", '"hem"', default="cut", usual="cut"
    )
    allowance: Margin | None = key(
        "Allowance along a cut, on each part.",
        '"10 mm"',
        default=None,
        usual="the piece's `allowance`",
    )
    hem: Annotated[HemTable, OrText("kind")] | None = key(
        "Hem along a cut, on each part.",
        '"twin-needle"',
        default=None,
        usual="none",
        refused="an allowance beside it",
    )
    sewn: bool = key(
        "Whether the parts of a split piece are sewn to each other again; the seam follows.",
        "false",
        default=True,
    )
