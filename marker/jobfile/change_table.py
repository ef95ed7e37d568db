"""The tables under [[change]] of a job file, and all that is to be known of their keys."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from marker.files.tables import Table, key
from marker.files.values import Margin, Name, OneOf, OrText, Size, Spoken
from marker.jobfile.piece_table import HemTable


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
