"""What a PDF page writes (ISO 32000-1, section 9): each label by itself, where it begins."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from marker.exchange.pdf.pages import Written
from marker.geometry.arrays import FloatArray

TEXT = {
    b"BT", b"ET", b"Tf", b"Td", b"TD", b"Tm", b"T*", b"Tj", b"TJ", b"'", b'"', b"Tc", b"Tw", b"Tz",
    b"TL",
}  # fmt: skip
_ONE = np.array([1.0, 0.0, 0.0, 1.0, 0.0, 0.0])
_BLANK, _NEXT = 0.2, 0.9  # of the letters' height: a gap that is a blank, one that ends a label
_BACK = -0.6  # the same: letters are set closer, but not so far back
_OFF_LINE = 0.3


class TextReader:
    """The text state of a stream, and the label being written. Fonts are read once a file.

    written : the labels, gathered over all streams of a page.
    """

    def __init__(self, written: list[Written], fonts: dict[int, Any]) -> None:
        self._written = written
        self._fonts = fonts
        self._font: Any = None
        self._size = self._leading = self._apart = self._words_apart = 0.0
        self._stretch = 1.0
        self._line = self._at = _ONE
        self._label = ""
        self._begins = self._ends = np.zeros(2)
        self._along = np.array([1.0, 0.0])
        self._height = 0.0

    def carry_out(
        self, operator: bytes, operands: Sequence[Any], resources: Any, to_mm: FloatArray
    ) -> None:
        """One of TEXT. to_mm : (6,), from user space to the page."""
        match operator:
            case b"BT":
                self._line = self._at = _ONE
            case b"ET":
                self.finish()
            case b"Tf":
                self._font, self._size = self._opened(operands[0], resources), float(operands[1])
            case b"Tc":
                self._apart = float(operands[0])
            case b"Tw":
                self._words_apart = float(operands[0])
            case b"Tz":
                self._stretch = float(operands[0]) / 100
            case b"TL":
                self._leading = float(operands[0])
            case b"Tm":
                self._line = self._at = np.array(operands, dtype=np.float64)
            case b"Td" | b"TD":
                if operator == b"TD":
                    self._leading = -float(operands[1])
                self._step(float(operands[0]), float(operands[1]))
            case b"T*":
                self._step(0.0, -self._leading)
            case _:
                self._show_all(operator, operands, to_mm)

    def finish(self) -> None:
        """The label that is being written ends."""
        words = " ".join(self._label.split())
        if words:
            self._written.append(Written(self._begins, words))
        self._label = ""

    def _step(self, across: float, up: float) -> None:
        self._line = self._at = after(np.array([1.0, 0.0, 0.0, 1.0, across, up]), self._line)

    def _show_all(self, operator: bytes, operands: Sequence[Any], to_mm: FloatArray) -> None:
        if operator == b'"':
            self._words_apart, self._apart = float(operands[0]), float(operands[1])
        if operator in (b"'", b'"'):
            self._step(0.0, -self._leading)
        shown = operands[0] if operator == b"TJ" else [operands[-1]]
        for part in shown:
            if isinstance(part, str | bytes):
                self._show(_raw(part), to_mm)
            else:
                self._move(-float(part) / 1000 * self._size * self._stretch)

    def _show(self, raw: bytes, to_mm: FloatArray) -> None:
        if self._font is None or not self._font.interpretable:
            return
        text, width = self._decoded(raw)
        begins = after(self._at, to_mm)
        self._join(begins, text)
        self._move(width)
        self._ends = after(self._at, to_mm)[4:]

    def _join(self, at: FloatArray, text: str) -> None:
        """Go on with the label, or begin another where these letters do not stand next to it."""
        along = at[:2] / max(float(np.hypot(*at[:2])), 1e-12)
        height = max(self._size * float(np.hypot(*at[2:4])), 1e-12)
        gap = at[4:] - self._ends
        on, off = float(gap @ along), float(gap @ np.array([-along[1], along[0]]))
        same = (
            bool(self._label)
            and abs(off) < _OFF_LINE * height
            and _BACK * height < on < _NEXT * height
            and float(along @ self._along) > 0.99
        )
        if not same:
            self.finish()
            self._begins = at[4:]
        elif on > _BLANK * height:
            self._label += " "
        self._label += text
        self._along = along

    def _move(self, by: float) -> None:
        self._at = after(np.array([1.0, 0.0, 0.0, 1.0, by, 0.0]), self._at)

    def _decoded(self, raw: bytes) -> tuple[str, float]:
        """The letters, and how far they move on, in units of the text."""
        font = self._font
        if isinstance(font.encoding, str):
            codes = raw.decode(font.encoding, "replace")
        else:
            codes = "".join(font.encoding.get(code, chr(code)) for code in raw)
        glyphs = float(font.get_text_width(codes)) / 1000 * self._size
        blanks = codes.count(" ") * self._words_apart
        width = (glyphs + len(codes) * self._apart + blanks) * self._stretch
        text = "".join(font.character_map.get(code, code) for code in codes)
        return "".join(c if c.isprintable() else " " for c in text), width

    def _opened(self, name: Any, resources: Any) -> Any:
        """A font by its name in the resources; None for one that is not there."""
        from pypdf.generic._font import Font

        fonts = resources.get("/Font")
        found = None if fonts is None else fonts.get_object().get(name)
        if found is None:
            return None
        dictionary = found.get_object()
        if id(dictionary) not in self._fonts:
            self._fonts[id(dictionary)] = Font.from_font_resource(dictionary)
        return self._fonts[id(dictionary)]


def after(inner: FloatArray, outer: FloatArray) -> FloatArray:
    """The matrix (6,) that applies `inner` first."""
    a, b, c, d, e, f = inner.tolist()
    one, two, three, four, five, six = outer.tolist()
    return np.array(
        [
            a * one + b * three, a * two + b * four,
            c * one + d * three, c * two + d * four,
            e * one + f * three + five, e * two + f * four + six,
        ]
    )  # fmt: skip


def _raw(part: Any) -> bytes:
    """The bytes of a string as the file has them."""
    own = getattr(part, "original_bytes", None)
    if isinstance(own, bytes):
        return own
    return part if isinstance(part, bytes) else str(part).encode("latin-1", "replace")
