"""What is written on a piece, from the fullest wording to the tersest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import DROP, FIGURE_RISE, LINE_STEP, RISE, SMALLEST_PT
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.units import CUT_UNITS, cut_figure, shown

ALONG, ACROSS = "↦", "↥"  # from the start line, from the near selvage
BADGE_GAP = 0.8  # between the number and the name, mm
_DETAIL_SHARE = 0.78


@dataclass(frozen=True)
class Lettering:
    """How large the labels of one kind of page may be.

    title_pt : sizes of a piece's name, to be tried in this order.
    """

    title_pt: tuple[float, ...]


DIAGRAM = Lettering((8.5, 7.5, 6.5, SMALLEST_PT))
PROJECTED = Lettering((8.5, 7.5, 6.5, SMALLEST_PT))
FULL_SIZE = Lettering((20.0, 16.0, 12.0, 9.0, 7.0, SMALLEST_PT))


@dataclass(frozen=True)
class TextLine:
    """One line of a block."""

    text: str
    size_pt: float
    bold: bool


@dataclass(frozen=True)
class Block:
    """Left-aligned lines, the piece's number in a disc before the first. No lines: the disc alone.

    width_mm, height_mm : of the whole block on paper.
    bare : the number stands alone without its disc.
    """

    number: int
    lines: tuple[TextLine, ...]
    width_mm: float
    height_mm: float
    bare: bool = False

    @property
    def badge_mm(self) -> float:
        """Diameter of the number's disc."""
        return badge_diameter(self.number, self.lines[0].size_pt if self.lines else SMALLEST_PT)

    @property
    def badge_lift_mm(self) -> float:
        """Centre of the disc above the first baseline: half the height of a capital."""
        return FIGURE_RISE / 2 * self.lines[0].size_pt * MM_PER_PT

    @property
    def rise_mm(self) -> float:
        """Top of the block above the first baseline."""
        return max(RISE * self.lines[0].size_pt * MM_PER_PT, self.badge_lift_mm + self.badge_mm / 2)

    @property
    def steps_mm(self) -> tuple[float, ...]:
        """From each baseline to the next; the second line keeps clear of the disc."""
        steps = [line.size_pt * LINE_STEP * MM_PER_PT for line in self.lines[1:]]
        if steps:
            below = self.badge_mm / 2 - self.badge_lift_mm
            steps[0] = max(steps[0], below + RISE * self.lines[1].size_pt * MM_PER_PT)
        return tuple(steps)


def badge_diameter(number: int, size_pt: float) -> float:
    """Disc around a number set 10 % smaller than the text beside it but never below legible, mm."""
    size = badge_size(size_pt)
    return max(1.3 * size * MM_PER_PT, text_width(str(number), size, bold=True) + 1.0)


def badge_size(size_pt: float) -> float:
    """Size of the number itself, pt."""
    return max(SMALLEST_PT, 0.9 * size_pt)


def badge_block(number: int) -> Block:
    """The number alone."""
    diameter = badge_diameter(number, SMALLEST_PT)
    return Block(number, (), diameter, diameter)


def bare_block(number: int) -> Block:
    """The number alone, without a disc."""
    width = text_width(str(number), SMALLEST_PT, bold=True)
    return Block(number, (), width, FIGURE_RISE * SMALLEST_PT * MM_PER_PT, bare=True)


def wordings(piece: PieceDrawing) -> Iterator[tuple[str, ...]]:
    """Lines of text, fullest and tallest first; all say which copy and, in words, which hand."""
    number = f"garment {piece.garment}" if piece.garment else ""
    words = " · ".join(filter(None, [piece.size_words, number]))
    whose = (words,) if words else ()
    copy = piece.copy_words
    note = (piece.note,) if piece.note else ()
    place = () if piece.cut else (place_words(piece),)
    facts = [(piece.name, *whose, copy, *piece.facts, *note)] if piece.facts else []
    for items in (
        *facts,
        (piece.name, *whose, copy, *place, *note),
        (piece.name, *whose, copy, *note),
        *([(piece.name, _briefly(piece), copy)] if piece.garment else []),
        (piece.name, copy, *note),
        *([(piece.name, *copy.split(" · "))] if " · " in copy else []),
    ):
        for lines in range(len(items), 0, -1):
            yield _broken(items, lines)


def _briefly(piece: PieceDrawing) -> str:
    """Size and garment, where there are several."""
    number = f"no. {piece.garment}"
    return f"{piece.size}, {number}" if piece.size_words else number


def _broken(items: tuple[str, ...], lines: int) -> tuple[str, ...]:
    """The items in order on so many lines, the longest line as short as can be."""
    choices = []
    for breaks in combinations(range(1, len(items)), lines - 1):
        edges = (0, *breaks, len(items))
        choices.append(tuple(" · ".join(items[a:b]) for a, b in pairwise(edges)))
    return min(choices, key=lambda texts: max(map(len, texts)))


def place_words(piece: PieceDrawing) -> str:
    """How far the edge lies from the start line, and the line it is set by from the selvage."""
    lead = shown().lead
    start, selvage = (
        "/".join(cut_figure(mm, lead) for mm in ends)
        for ends in (piece.placing.from_start_mm, piece.placing.from_selvage_mm)
    )
    if piece.fold_y is not None:
        return f"{ALONG} {start} {CUT_UNITS[lead]}"
    return f"{ALONG} {start}  {ACROSS} {selvage} {CUT_UNITS[lead]}"


def blocks(piece: PieceDrawing, texts: tuple[str, ...], lettering: Lettering) -> Iterator[Block]:
    """One wording at falling sizes, a name that stands alone as its heading."""
    for size in lettering.title_pt:
        yield _block(piece, texts, size)


def smallest_block(piece: PieceDrawing, texts: tuple[str, ...], lettering: Lettering) -> Block:
    """One wording at its smallest size: where that is too large, so are all others."""
    return _block(piece, texts, lettering.title_pt[-1])


def least_extent(piece: PieceDrawing, lines: int = 1) -> tuple[float, float]:
    """Width and height that no wording of so many lines goes below, mm: each begins with number and
    name."""
    name = min(text_width(piece.name, SMALLEST_PT, bold) for bold in (True, False))
    width = badge_diameter(piece.number, SMALLEST_PT) + BADGE_GAP + name
    return width, (RISE + DROP + (lines - 1) * LINE_STEP) * SMALLEST_PT * MM_PER_PT


def _block(piece: PieceDrawing, texts: tuple[str, ...], size: float) -> Block:
    headed = texts[0] == piece.name
    detail = max(SMALLEST_PT, size * _DETAIL_SHARE)
    lines = tuple(
        TextLine(text, size if k == 0 and headed else detail, k == 0 and headed)
        for k, text in enumerate(texts)
    )
    widths = [text_width(line.text, line.size_pt, line.bold) for line in lines]
    badge = badge_diameter(piece.number, lines[0].size_pt)
    widths[0] += badge + BADGE_GAP
    block = Block(piece.number, lines, max(widths), 0.0)
    drop = DROP * lines[-1].size_pt * MM_PER_PT
    if len(lines) == 1:
        drop = max(drop, badge / 2 - block.badge_lift_mm)
    return replace(block, height_mm=block.rise_mm + sum(block.steps_mm) + drop)
