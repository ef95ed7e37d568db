"""Fonts that pages are lettered in, and how wide text is in them; sizes in points, widths in mm.

DejaVu Sans, which comes with matplotlib, holds Latin, Greek, Cyrillic, Armenian, Georgian, Hebrew
and Arabic letters. A letter that it lacks is taken from any TrueType font of the machine.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from functools import cache
from importlib.util import find_spec
from itertools import groupby
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

FAMILY = "DejaVu Sans"
MM_PER_PT = 25.4 / 72
NO_LETTER = "?"
_FILES = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}


def text_width(text: str, size_pt: float, bold: bool = False) -> float:
    """Width on paper, mm."""
    return _width_at_100(text, bold) * size_pt / 100 * MM_PER_PT if text else 0.0


def lettered(text: str, bold: bool = False) -> Iterator[tuple[str, str]]:
    """The text in stretches of one font each, (name of the font, stretch).

    A letter that no font has is replaced by '?'.
    """
    letters = ((_font_of(letter, bold), letter) for letter in unicodedata.normalize("NFC", text))
    for font, stretch in groupby(letters, key=lambda pair: pair[0]):
        found = "".join(letter for _, letter in stretch)
        yield (font, found) if font else (own_font(bold).fontName, NO_LETTER * len(found))


def without_font(text: str) -> str:
    """The letters that no font of this machine has, each once."""
    letters = dict.fromkeys(unicodedata.normalize("NFC", text))
    return "".join(letter for letter in letters if _font_of(letter, bold=False) is None)


@cache
def _width_at_100(text: str, bold: bool) -> float:
    widths = (pdfmetrics.stringWidth(part, font, 100.0) for font, part in lettered(text, bold))
    return float(sum(widths))


@cache
def own_font(bold: bool = False) -> TTFont:
    """DejaVu Sans, made known to reportlab."""
    spec = find_spec("matplotlib")
    assert spec is not None
    assert spec.origin is not None
    path = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf" / _FILES[bold]
    font = TTFont(f"{FAMILY} Bold" if bold else FAMILY, str(path))
    pdfmetrics.registerFont(font)
    return font


@cache
def _font_of(letter: str, bold: bool) -> str | None:
    """Name of the first font that has the letter."""
    own = own_font(bold)
    if ord(letter) in own.face.charToGlyph:
        return own.fontName
    for path in _machine_fonts():
        if _has(path, letter) and (name := _registered(path)) is not None:
            return name
    return None


@cache
def _machine_fonts() -> tuple[str, ...]:
    # only a rare letter needs it, and it is slow to load
    from matplotlib.font_manager import findSystemFonts

    return tuple(sorted(findSystemFonts(), key=lambda path: ("Sans" not in path, path)))


def _has(path: str, letter: str) -> bool:
    from matplotlib.ft2font import FT2Font

    try:
        return bool(FT2Font(path).get_char_index(ord(letter)))
    except RuntimeError:  # no font that FreeType reads
        return False


@cache
def _registered(path: str) -> str | None:
    """Name of a font file made known to reportlab; None if its outlines can't be embedded."""
    try:
        pdfmetrics.registerFont(TTFont(path, path))
    except TTFError:
        return None
    return path
