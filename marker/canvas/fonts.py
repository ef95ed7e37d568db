"""Fonts that pages are lettered in, and how wide text is in them; sizes in points, widths in mm.

DejaVu Sans, which comes with matplotlib, holds Latin, Greek, Cyrillic, Armenian, Georgian, Hebrew
and Arabic letters. A letter that it lacks is taken from any TrueType font of the machine. Letters
of other scripts that change beside one another, such as Devanagari, are drawn one by one.
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

from marker.canvas.scripts import as_drawn

FAMILY = "DejaVu Sans"
MM_PER_PT = 25.4 / 72
NO_LETTER = "?"
_FILES = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}


def text_width(text: str, size_pt: float, bold: bool = False) -> float:
    """Width on paper, mm."""
    return _width_at_100(text, bold) * size_pt / 100 * MM_PER_PT if text else 0.0


def lettered(text: str, bold: bool = False) -> Iterator[tuple[str, str]]:
    """The text in stretches of one font each as it is drawn, (name of the font, stretch).

    A letter that no font has is replaced by '?', and noted: see `letters_lost`.
    """
    if text and _plain(bold).issuperset(text):
        yield own_font(bold).fontName, text
        return
    normal = as_drawn(unicodedata.normalize("NFC", text))
    letters = [_drawable(letter, bold) for letter in normal]
    for font, stretch in groupby(letters, key=lambda pair: pair[0]):
        found = "".join(letter for _, letter in stretch)
        if font is None:
            _LOST.update(dict.fromkeys(found))
        yield (font, found) if font else (own_font(bold).fontName, NO_LETTER * len(found))


def letters_lost() -> str:
    """The letters drawn since this was last asked that no font of this machine has."""
    lost = "".join(_LOST)
    _LOST.clear()
    return lost


def lost_letters_note() -> str:
    """What is to be said of `letters_lost`; '' where there are none."""
    lost = " ".join(letters_lost())
    if not lost:
        return ""
    return (
        f"no font of this machine has {lost}; '{NO_LETTER}' is drawn in their place. Install a "
        f"TrueType font that has them, and draw again."
    )


_LOST: dict[str, None] = {}


@cache
def _plain(bold: bool) -> frozenset[str]:
    """The letters that DejaVu Sans has and that nothing changes: none is joined to another, or
    written from right to left."""
    letters = map(chr, range(ord(" "), ord("\u0300")))
    own = own_font(bold).face.charToGlyph
    return frozenset(each for each in letters if each.isprintable() and ord(each) in own)


def _drawable(letter: str, bold: bool) -> tuple[str | None, str]:
    """Font and letter; the letter by itself where no font has its joined form."""
    font = _font_of(letter, bold)
    plain = unicodedata.normalize("NFKC", letter)
    if font is None and plain != letter and len(plain) == 1:
        return _font_of(plain, bold), plain
    return font, letter


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
