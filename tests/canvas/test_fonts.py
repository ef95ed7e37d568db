"""Names in any script are lettered, and what cannot be is told."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader

from marker.canvas.fonts import FAMILY, NO_LETTER, lettered, letters_lost, text_width
from marker.canvas.pen import Pen
from marker.canvas.scripts import as_drawn, isolated
from marker.canvas.to_pdf import pdf_bytes

NOWHERE = "\u0378"  # no letter stands there in any version of Unicode


def test_letters_of_many_scripts_have_a_font() -> None:
    drawn = "".join(part for _, part in lettered("Čárka Żółw юбка φούστα կիսազգեստ חצאית تنورة"))
    assert NO_LETTER not in drawn


def test_a_letter_of_no_font_is_told_and_drawn_as_a_question_mark() -> None:
    assert list(lettered(f"a{NOWHERE}{NOWHERE}")) == [(FAMILY, "a"), (FAMILY, "??")]
    assert NOWHERE in letters_lost()


@pytest.mark.parametrize(
    ("text", "drawn"),
    [
        ("חצאית", "תיאצח"),
        ("size 38 · חצאית · 1 of 2", "size 38 · תיאצח · 1 of 2"),
        ("חצאית (קדמי) 42", "42 (ימדק) תיאצח"),
        ("חצאית (38)", "(38) תיאצח"),
        ("skirt חצאית", "skirt תיאצח"),
        ("a חצאית, mirrored", "a תיאצח, mirrored"),
        ("ס״מ 12.5 חצאית", "תיאצח 12.5 מ״ס"),
        ("ב-3%", "3%-ב"),
        ("4. חצאית", "4. תיאצח"),
        ("2  חצאית, size 38", "2  תיאצח, size 38"),
        ("page 1, 2  חצאית, 3  חצאית", "page 1, 2  תיאצח, 3  תיאצח"),
        ("שָׁלוֹם", "םוֹלשָׁ"),
        # noon, teh, waw, reh, teh marbuta: initial, medial, final, isolated, isolated
        ("تنورة", "\ufe93\ufead\ufeee\ufee8\ufe97"),
        # lam and alef are one letter: https://www.unicode.org/versions/latest, section 9.2
        ("لا", "\ufefb"),
        ("٣٨ قميص", "\ufeba\ufef4\ufee4\ufed7 ٣٨"),
    ],
)
def test_what_runs_from_right_to_left_is_ordered_and_joined(text: str, drawn: str) -> None:
    """By hand, from the tables of UAX #9 and of the Arabic presentation forms."""
    assert as_drawn(text) == drawn


def test_a_browser_orders_each_part_by_itself() -> None:
    assert isolated("size 38 · 1 of 2") == "size 38 · 1 of 2"
    assert isolated("a · ב") == "\u2066a\u2069\u2066 · \u2069\u2067ב\u2069"


def test_joined_letters_are_narrower_than_letters_apart() -> None:
    assert text_width("تنورة", 10.0) < sum(text_width(each, 10.0) for each in "تنورة")


def test_text_in_a_pdf_can_be_searched_in_any_script() -> None:
    pen = Pen((100.0, 50.0))
    pen.text(10.0, 30.0, "юбка Ärmel", 10.0)
    (page,) = PdfReader(BytesIO(pdf_bytes([pen.page]))).pages
    assert "юбка Ärmel" in page.extract_text()


def test_widths_add_up_over_the_letters() -> None:
    """No letters are drawn closer together in pairs, so that places can be worked out."""
    assert text_width("AV", 10.0) == text_width("A", 10.0) + text_width("V", 10.0)
