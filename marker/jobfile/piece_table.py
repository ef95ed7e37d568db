"""The tables under [[piece]] of a job file, and all that is to be known of their keys."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from marker.files.tables import Table, key
from marker.files.values import (
    LENGTH_SCHEMA,
    MOST_COPIES,
    Coordinate,
    DrawingUnit,
    Margin,
    Name,
    Number,
    OneOf,
    OrText,
    Point,
    Size,
    Spoken,
    faulty,
    within,
)
from marker.jobfile.inside_tables import DartTable, GatherTable, MarkTable, PleatTable
from marker.pattern.edge import Corner, HemKind
from marker.pattern.piece import Line

OUTLINES = ("path", "points", "drawing", "shape")
FINEST_FLATTEN_MM, COARSEST_FLATTEN_MM = 0.001, 10.0


def _edge_end(value: Any) -> int | str:
    if isinstance(value, bool) or not isinstance(value, int | str):
        raise faulty(
            "the number of a corner or the name of a notch is expected here",
            'Write a number such as 2, or a name such as "hip"',
        )
    return value.strip() if isinstance(value, str) else value


Flatten = Annotated[
    Coordinate,
    AfterValidator(partial(within, FINEST_FLATTEN_MM, COARSEST_FLATTEN_MM)),
    Spoken("length from 0.001 to 10 mm", LENGTH_SCHEMA),
]
Corners = Annotated[list[int], Field(min_length=2, max_length=2), Spoken("[corner, corner]")]
EdgeEnd = Annotated[int | str, BeforeValidator(_edge_end)]
Stretch = Annotated[
    list[EdgeEnd],
    Field(min_length=2, max_length=2),
    Spoken("[from, to], each a corner or the name of a notch"),
]
Copies = Annotated[int, Field(ge=1, le=MOST_COPIES)]


class Rectangle(Table):
    """A rectangle. Corners: 1 bottom left, 2 bottom right, 3 top right, 4 top left."""

    kind: Literal["rectangle"] = key("The kind of shape.", '"rectangle"')
    width: Size = key("From left to right.", '"30 cm"')
    height: Size = key("From bottom to top.", '"40 cm"')


class Trapezoid(Table):
    """Two parallel sides, the shorter one above the middle of the longer one.

    Corners: 1 bottom left, 2 bottom right, 3 top right, 4 top left.
    """

    kind: Literal["trapezoid"] = key("The kind of shape.", '"trapezoid"')
    bottom: Size = key("The side at the bottom.", '"60 cm"')
    top: Size = key("The side at the top.", '"40 cm"')
    height: Size = key("From bottom to top.", '"50 cm"')


class Triangle(Table):
    """A triangle with two equal sides. Corners: 1 base left, 2 base right, 3 the tip above."""

    kind: Literal["triangle"] = key("The kind of shape.", '"triangle"')
    base: Size = key("The side at the bottom.", '"20 cm"')
    height: Size = key("From the base to the tip.", '"30 cm"')


class RingSector(Table):
    """A part of a ring, as circle skirts and yokes are drafted; with an angle of 360 a full ring.

    Angles count counter-clockwise from "to the right". Corners: 1 inner arc at angle 0, 2 outer arc
    at angle 0, 3 outer arc's end, 4 inner arc's end. A full ring has one corner, on its outer
    circle at angle 0; its inner circle is a cut-out.
    """

    kind: Literal["ring sector"] = key("The kind of shape.", '"ring sector"')
    inner_radius: Size = key(
        "Radius of the inner arc.", '"11 cm"', refused="the outer radius or more"
    )
    outer_radius: Size = key("Radius of the outer arc.", '"70 cm"')
    angle: Annotated[Number, Field(gt=0, le=360)] = key("How far round it goes, in degrees.", "180")


Shape = Rectangle | Trapezoid | Triangle | RingSector


class NotchTable(Table):
    """A notch on an edge. Notches are measured on the stitching line."""

    edge: Name = key("The edge that it stands on.", '"side"')
    at: Margin = key(
        "How far along the edge, from its first corner.",
        '"8 cm"',
        refused="a place beyond the end of the edge's stitching line",
    )
    name: Name | None = key(
        "Its name; needed only where something refers to it.", '"hip"', default=None, usual="none"
    )


class HemTable(Table):
    """A hem, folded back along the stitching line. Its kind alone may stand for the table.

    The allowance is depth and under together. Usual depth + under: turned once 30 mm, turned twice
    20 + 10 mm, twin-needle 25 mm, cover-stitched 25 mm, rolled 3 + 3 mm. These are common practice.
    """

    kind: Annotated[HemKind, OneOf()] = key("How it is made.", '"turned twice"')
    depth: Size | None = key(
        "How deep the finished hem lies.", '"2 cm"', default=None, usual="what is usual"
    )
    under: Margin | None = key(
        "What is turned under inside it.",
        '"1 cm"',
        default=None,
        usual="what is usual, at most the depth",
        refused="more than the depth; a hem of a kind that turns nothing under",
    )


Hems = dict[Name, Annotated[HemTable, OrText("kind")]]
HowCornersEnd = dict[Name, Annotated[Corner, OneOf()]]
Turns = Annotated[list[Annotated[Number, Field(ge=0, lt=360)]], Field(min_length=1)]

# keys that a derived piece has as well
CLOTH = key("The cloth it is cut from.", '"jersey"', default=None, usual="the main cloth")
ALLOWANCE = key(
    "From the stitching line to the cut line, of every edge that says nothing else.",
    '"10 mm"',
    default=0.0,
    usual="0",
    refused="allowances that overlap across a gap",
)
HEMS = key(
    "Edge -> its hem, by kind or as a table.",
    '{ hem = { kind = "turned twice", depth = "2 cm", under = "1 cm" } }',
    default={},
    usual="none",
)
CORNERS = key(
    "Edge -> how its allowance ends at its corners.",
    '{ neck = "square" }',
    default={},
    usual='"mirrored" for a hem beside a seam, else "mitred"',
)


class PieceTable(Table):
    """A piece of the pattern. Its outline is given by exactly one of path, points, drawing, shape.

    See the topics 'corners', 'edges', 'allowances', 'drawings', 'grade rules' and 'sizes'.
    """

    name: Name = key("Its name, unlike that of any other piece or strip.", '"bodice front"')
    cloth: Name | None = CLOTH
    path: str | None = key(
        "Its outline as SVG path data in `units`, y down as in SVG, one closed sub-path.",
        '"M 0 0 L 30 0 L 30 40 Z"',
        default=None,
        refused="an open or crossing outline; path data without `units`",
    )
    points: list[Point] | None = key(
        "Its outline as corners, y up.",
        "[[0, 0], [300, 0], [300, 400]]",
        default=None,
        refused="a crossing outline; fewer than 3 points or more than 20000",
    )
    drawing: str | None = key(
        "Its outline as a shape in an SVG file beside the job: the file, # and an id. "
        "`{size}` in it stands for the size's name.",
        '"bodice.svg#front"',
        default=None,
        refused="a file over 5 MB, or one that refers to anything outside itself",
    )
    drawing_unit: DrawingUnit | None = key(
        "What one user unit of the drawing measures.",
        '"1/96 in"',
        default=None,
        usual="what the drawing says of its own size",
        refused="a drawing that has a size of its own; needed if it has none",
    )
    shape: Annotated[Shape, Field(discriminator="kind")] | None = key(
        "Its outline by formula.",
        '{ kind = "rectangle", width = "30 cm", height = "40 cm" }',
        default=None,
    )
    flatten: Flatten = key(
        "The largest distance between a curve and its chords.",
        '"0.1 mm"',
        default=0.1,
        usual="0.1 mm",
    )
    grade: dict[Name, Name] = key(
        "Corner -> grade rule, two or more; corners between them move by their share of the way.",
        '{ 1 = "hem", 4 = "underarm" }',
        default={},
        usual="not graded by rules",
        refused="an outline that is given in each size",
    )
    cut: Copies = key(
        "How many are cut for a garment, both hands together.",
        "2",
        default=1,
        refused="an odd number of a pair",
    )
    pair: bool = key("Half of them are mirrored: lefts and rights.", "true", default=False)
    fold: Corners | None = key(
        "The edge that lies on the fold, from corner to corner: the piece drawn is half of what is "
        "cut.",
        "[4, 1]",
        default=None,
        usual="none",
        refused="an edge that bends by more than 0.2 mm; a piece that reaches over it",
    )
    fold_seam: Size | None = key(
        "Allowance of a seam that may join two halves in place of the fold, when cloth is short.",
        '"10 mm"',
        default=None,
        usual="the fold stays",
        refused="a piece without a fold",
    )
    pieced: Size | None = key(
        "Allowance of a seam that may join two parts across the middle of the longer side, when "
        "cloth is short.",
        '"10 mm"',
        default=None,
        usual="it stays whole",
    )
    shorten: dict[Name, Size] = key(
        "Edge -> how much is taken off the piece there, when cloth is short.",
        '{ hem = "2 cm" }',
        default={},
        usual="nothing",
        refused="more than there is",
    )
    grain: Annotated[Number, Field(ge=-360, le=360)] = key(
        'Direction of the grain arrow in the drawing, in degrees counter-clockwise from "to the '
        'right"; 90 is up. It points to the top of the piece as it is worn.',
        "90",
        default=90.0,
        usual="90; 270 for a ring sector, which hangs from its inner arc",
    )
    turns: Turns = key(
        "Allowed turns from the cloth's direction, in degrees; the nap may forbid some.",
        "[0, 180]",
        default=[0.0, 180.0],
    )
    grain_tolerance: Annotated[Number, Field(ge=0, le=180)] = key(
        "Degrees by which the arrow may stray either side, by any angle between.",
        "5",
        default=0.0,
        refused="a piece that is matched, or that would shrink by two different shares",
    )
    line: Annotated[Line, OneOf()] = key(
        "Which line was drawn.", '"stitching line"', default=Line.CUT
    )
    allowance: Margin = ALLOWANCE
    edges: dict[Name, Stretch] = key(
        "Named stretches of the outline, each from a corner or notch to another, as drawn.",
        '{ hem = [1, 2], side = [2, 3], slit = [2, "hip"] }',
        default={},
        usual="none",
        refused="an edge that runs over the fold",
    )
    allowances: dict[Name, Margin] = key(
        "Edge -> its own allowance.",
        '{ side = "15 mm" }',
        default={},
        usual="`allowance`",
        refused="an edge that has a hem; two allowances for one stretch",
    )
    hems: Hems = HEMS
    corners: HowCornersEnd = CORNERS
    notches: list[NotchTable] = key(
        "Notches on its edges.",
        '[{ edge = "side", at = "8 cm", name = "hip" }]',
        default=[],
        usual="none",
    )
    darts: list[DartTable] = key(
        "Darts in its edges.",
        '[{ edge = "waist", at = "8 cm", intake = "3 cm", depth = "12 cm" }]',
        default=[],
        usual="none",
    )
    pleats: list[PleatTable] = key(
        "Pleats and tucks in its edges.",
        '[{ edge = "waist", at = "8 cm", intake = "4 cm", kind = "box pleat" }]',
        default=[],
        usual="none",
    )
    gathers: list[GatherTable] = key(
        "Stretches of its edges that are gathered.",
        '[{ edge = "waist", between = ["start", "end"], into = "12 cm" }]',
        default=[],
        usual="none",
    )
    marks: list[MarkTable] = key(
        "Marks inside it, such as buttonholes and the place of a pocket.",
        '[{ kind = "button", points = [[20, 50], [20, 250]], count = 5 }]',
        default=[],
        usual="none",
    )
    border: Name | None = key(
        "The edge whose stitching line lies on the cloth's border print.",
        '"hem"',
        default=None,
        usual="none",
        refused="a cloth without a border; turns that never lay the edge along it",
    )
