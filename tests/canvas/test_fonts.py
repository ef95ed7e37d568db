"""Names in any script are lettered, and what cannot be is told."""

from __future__ import annotations

from io import BytesIO

from pypdf import PdfReader

from marker.canvas.fonts import FAMILY, lettered, text_width, without_font
from marker.canvas.pen import Pen
from marker.canvas.to_pdf import pdf_bytes

NOWHERE = "\u0378"  # no letter stands there in any version of Unicode


def test_letters_of_many_scripts_have_a_font() -> None:
    assert without_font("Čárka Żółw юбка φούστα կիսազգեստ חצאית") == ""


def test_a_letter_of_no_font_is_told_and_drawn_as_a_question_mark() -> None:
    assert without_font(f"skirt {NOWHERE}{NOWHERE}") == NOWHERE
    assert list(lettered(f"a{NOWHERE}")) == [(FAMILY, "a"), (FAMILY, "?")]


def test_text_in_a_pdf_can_be_searched_in_any_script() -> None:
    pen = Pen((100.0, 50.0))
    pen.text(10.0, 30.0, "юбка Ärmel", 10.0)
    (page,) = PdfReader(BytesIO(pdf_bytes([pen.page]))).pages
    assert "юбка Ärmel" in page.extract_text()


def test_widths_add_up_over_the_letters() -> None:
    """No letters are drawn closer together in pairs, so that places can be worked out."""
    assert text_width("AV", 10.0) == text_width("A", 10.0) + text_width("V", 10.0)
