"""A garment that can be drafted, and what drafting yields, in one size and in all: pieces drawn in
named edges, and all that is sewn.

Nothing here knows how it is written to files.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import chain as joined
from typing import Any

from marker.blocks.body import Body
from marker.blocks.curve import Curve, chain, length_of, points_on
from marker.blocks.options import Option, chosen, options_of
from marker.cloth.fabric import Cloth
from marker.pattern.bands.strip import Strip
from marker.pattern.edge import EdgeRef, Hem, Notch
from marker.pattern.fullness import Dart, Gather, Pleat
from marker.pattern.inner_marks import Hand, MarkKind
from marker.pattern.piece import Recipe
from marker.pattern.seams.sewing import Girth, Opening, Place, Seam, Side, Spot

FOLD = "fold"
SEAM_MM = 10.0  # between stitching line and cut line: common practice, no source
PAIR_OF_NOTCHES_MM = 10.0  # between the two notches of a back: common practice, no source


@dataclass(frozen=True)
class DraftMark:
    """A mark inside a piece.

    points : one for a point, else a line. count : so many points or buttonholes in a row between
        two. length_mm : of a buttonhole, which lies across the grain. hand : of a pair, or of the
        halves of a piece on the fold, those that have it.
    """

    kind: MarkKind
    points: tuple[complex, ...]
    name: str = ""
    closed: bool = False
    count: int = 1
    length_mm: float = 0.0
    hand: Hand = Hand.BOTH


@dataclass(frozen=True)
class Draft:
    """One piece on its stitching line, or the half of it, its grain up the sheet.

    edges : name -> lines joined end to end; together they go once around. The edge called `FOLD`
        is straight and lies on the fold.
    cut : how many, both hands together. pair : half of them are mirrored.
    cloth : "" for the main cloth. note : what the maker should know of it.
    allowances, hems : of single edges; `allowance_mm` of all others.
    fullness : what is taken in along its edges. marks : what else is marked inside it.
    """

    name: str
    edges: Mapping[str, tuple[Curve, ...]]
    cut: int = 1
    pair: bool = False
    cloth: str = ""
    note: str = ""
    grain_deg: float = 90.0
    turns: tuple[float, ...] = (0.0, 180.0)
    allowance_mm: float = SEAM_MM
    allowances: Mapping[str, float] = field(default_factory=dict)
    hems: Mapping[str, Hem] = field(default_factory=dict)
    notches: tuple[Notch, ...] = ()
    fullness: tuple[Dart | Pleat | Gather, ...] = ()
    marks: tuple[DraftMark, ...] = ()

    @property
    def outline(self) -> tuple[Curve, ...]:
        """All its lines, in order around."""
        return tuple(joined.from_iterable(self.edges.values()))

    @property
    def corners(self) -> dict[str, tuple[int, int]]:
        """Numbers, from 1, of the corners at which each edge begins and ends."""
        count, found, first = len(self.outline), {}, 1
        for name, lines in self.edges.items():
            last = first + len(lines)
            found[name] = (first, (last - 1) % count + 1)
            first = last
        return found

    @property
    def corner(self) -> complex:
        """Top left corner of the box around it."""
        return complex(*points_on(self.outline).min(axis=0))

    @property
    def size(self) -> complex:
        """Width and height of that box."""
        return complex(*points_on(self.outline).max(axis=0)) - self.corner

    def length(self, edge: str) -> float:
        """Of an edge as drawn, mm."""
        return length_of(self.edges[edge])


@dataclass(frozen=True)
class Block:
    """A garment's whole pattern in one size.

    cloths : the main cloth first. derived : what follows from `pieces`. notes : name of a strip,
        seam, opening or girth -> what the maker should know of it.
    """

    pieces: tuple[Draft, ...]
    cloths: tuple[Cloth, ...]
    strips: tuple[Strip, ...] = ()
    seams: tuple[Seam, ...] = ()
    openings: tuple[Opening, ...] = ()
    girths: tuple[Girth, ...] = ()
    derived: tuple[Recipe, ...] = ()
    notes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Drafted:
    """A garment in all its sizes.

    says, method : what it is, and how it is drafted. sample : the size that is shown, and ordered
    where no others are.
    measures : size -> measure -> mm, those it was drafted from. options : those chosen, in words.
    """

    garment: str
    says: str
    method: str
    sample: str
    sizes: Mapping[str, Block]
    measures: Mapping[str, Mapping[str, float]]
    options: Mapping[str, str]


def seam(name: str, *sides: str | tuple[str, ...] | Side) -> Seam:
    """A seam of sides written as in a job file: 'skirt front.waist', '... reversed'."""
    return Seam(name, tuple(_side(each) for each in sides))


def eased(ease_mm: float, *edges: str) -> Side:
    """A side that is longer than its seam by so much, or shorter and stretched."""
    return Side(tuple(map(ref, edges)), ease_mm)


def ref(text: str) -> EdgeRef:
    """'skirt front.waist reversed' as a reference."""
    piece, _, edge = text.partition(".")
    plain = edge.removesuffix(" reversed")
    return EdgeRef(piece, plain, reversed=plain != edge)


def opening(
    name: str,
    edges: tuple[str, ...],
    points: Mapping[str, tuple[str, Spot | float]],
    passes_mm: float | None = None,
) -> Opening:
    """A closed opening; points : name -> edge, and where on it."""
    places = {point: Place(ref(edge), at) for point, (edge, at) in points.items()}
    return Opening(name, tuple(map(ref, edges)), True, places, passes_mm)


def _side(given: str | tuple[str, ...] | Side) -> Side:
    if isinstance(given, Side):
        return given
    edges = (given,) if isinstance(given, str) else given
    return Side(tuple(map(ref, edges)))


def front_notch(edge: str, at_mm: float) -> tuple[Notch, ...]:
    """One notch: front (common practice, no source)."""
    return (Notch(edge, at_mm),)


def back_notch(edge: str, at_mm: float) -> tuple[Notch, ...]:
    """Two notches, the first at `at_mm`: back (common practice, no source)."""
    return Notch(edge, at_mm), Notch(edge, at_mm + PAIR_OF_NOTCHES_MM)


def rectangle(name: str, width: float, height: float, **more: Any) -> Draft:
    """Edges 'bottom', 'right', 'top' and 'left'; `more` are fields of Draft."""
    corners = (1j * height, complex(width, height), complex(width), 0j)
    ends = (*corners[1:], corners[0])
    edges = {
        edge: chain(start, end)
        for edge, start, end in zip(("bottom", "right", "top", "left"), corners, ends, strict=True)
    }
    return Draft(name, edges, **more)


def half_rectangle(name: str, width: float, height: float, **more: Any) -> Draft:
    """The half of a rectangle `width` wide, its left edge on the fold."""
    whole = rectangle(name, width / 2, height)
    edges = {FOLD if edge == "left" else edge: lines for edge, lines in whole.edges.items()}
    return Draft(name, edges, **more)


@dataclass(frozen=True)
class Garment:
    """One garment.

    says : what it is, in a sentence. method : how it is drafted, and after whom.
    measures : names of the body's measures that it is drafted from, the most important first; none
        for what nobody wears. options : a dataclass whose fields are `marker.blocks.options`.
    block : drafts it in one size.
    """

    name: str
    says: str
    method: str
    measures: tuple[str, ...]
    options: type[Any]
    block: Callable[[Body, Any], Block]

    @property
    def known_options(self) -> dict[str, Option]:
        """Its options by name."""
        return options_of(self.options)

    def drafted(
        self, bodies: Mapping[str, Body], sample: str, values: Mapping[str, float | str]
    ) -> Drafted:
        """The garment in every size.

        bodies : size -> measures. sample : one of them. values : option -> mm, number or word.
        Raises CannotBeDrafted where measures and options do not go together.
        """
        asked = chosen(self.options, values)
        return Drafted(
            garment=self.name,
            says=self.says,
            method=self.method,
            sample=sample,
            sizes={size: self.block(body, asked) for size, body in bodies.items()},
            measures={
                size: {name: getattr(body, name) for name in self.measures}
                for size, body in bodies.items()
            },
            options={name: self.known_options[name].text(value) for name, value in values.items()},
        )
