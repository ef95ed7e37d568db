"""The tables under [[derived]] of a job file, and all that is to be known of their keys."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from marker.files.tables import Table, key
from marker.files.values import Margin, Name, OneOf, Size, Spoken
from marker.jobfile.piece_table import (
    ALLOWANCE,
    CLOTH,
    CORNERS,
    HEMS,
    Copies,
    Hems,
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
