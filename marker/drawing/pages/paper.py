"""Papers that a layout can be printed on full size.

A0, A3, A4 by ISO 216, US Letter 8.5 × 11 in (ANSI/ASME Y14.1).
"""

from __future__ import annotations

from dataclasses import dataclass

from marker.files.faults import Unusable
from marker.units import NotALength, parse_length

LONGEST_MM = 5000.0  # a PDF page has at most 14 400 units of 1/72 in (ISO 32000-1, annex C.2)
NARROWEST_ROLL_MM = 300.0  # the test squares and the page map need that much
_ROLL = "roll:"


class NotAPaper(ValueError):
    """The text names no paper; the message says what would."""


@dataclass(frozen=True)
class Paper:
    """One kind of page.

    width_mm, height_mm : of a page, or the most it may have where it is `cut_long` (as long as
        what is printed) or `cut_high`.
    own_cover : the test squares and the page map come on a page of their own; on papers too large
        for that, left of the cloth.
    projected : thrown on the table by a projector: lines thick enough for its dots, and a grid.
    """

    name: str
    width_mm: float
    height_mm: float
    cut_long: bool = False
    cut_high: bool = False
    own_cover: bool = False
    projected: bool = False

    @property
    def turned(self) -> Paper:
        """The same page lying the other way."""
        return Paper(self.name, self.height_mm, self.width_mm, own_cover=self.own_cover)

    @property
    def turnable(self) -> bool:
        """Both ways of its lying may be tried."""
        return not self.cut_long


_SHEETS = {
    "a4": Paper("a4", 210.0, 297.0, own_cover=True),
    "a3": Paper("a3", 297.0, 420.0, own_cover=True),
    "letter": Paper("letter", 215.9, 279.4, own_cover=True),
    "a0": Paper("a0", 841.0, 1189.0),
    "projector": Paper("projector", LONGEST_MM, LONGEST_MM, True, True, projected=True),
}


def paper_named(text: str) -> Paper:
    """The paper called 'a4', 'a3', 'letter', 'a0', 'projector' or 'roll:900mm'.

    A roll's page is as high as the roll is wide. Raises NotAPaper.
    """
    name = text.strip().lower()
    if name in _SHEETS:
        return _SHEETS[name]
    if not name.startswith(_ROLL):
        raise NotAPaper(str(Unusable.unknown("paper", text, [*_SHEETS, f"{_ROLL}900mm"])))
    try:
        width = parse_length(name.removeprefix(_ROLL))
    except NotALength as error:
        raise NotAPaper(f"{error}; a roll is named by its width, as in 'roll:900mm'") from error
    if not NARROWEST_ROLL_MM <= width <= LONGEST_MM:
        raise NotAPaper(f"a roll is 30 cm to 5 m wide, not {name.removeprefix(_ROLL)}")
    return Paper(name, LONGEST_MM, width, cut_long=True)
