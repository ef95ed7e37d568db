"""Lengths: NIST factors, texts in and out, rounding up.

Factors: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 yd = 0.9144 m, all exact (NIST SP 811, appendix B.8,
after the international yard and pound agreement of 1959).
"""

from __future__ import annotations

import contextlib
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.units import (
    MM_PER_UNIT,
    NotALength,
    Show,
    System,
    Systems,
    centimetres,
    cloth_length,
    cloth_lengths,
    cut_length,
    cut_length_down,
    cut_length_up,
    cut_place,
    cut_size,
    exact_length,
    inches,
    length,
    lengths,
    metric,
    other_length,
    parse_length,
    percent_up,
    round_up,
    show_for,
    show_lengths,
    that_add_up,
    yards,
)

EIGHTH_YARD = 114.3


@pytest.mark.parametrize(
    ("mm", "metric_words", "imperial_words"),
    [(8676.0, "8.676 m", "9.49 yd"), (1828.8, "1.829 m", "2.00 yd"), (900.0, "90 cm", "35 3/8 in")],
)
def test_cloth_on_rolls_is_told_in_yards(mm: float, metric_words: str, imperial_words: str) -> None:
    assert cloth_length(mm, System.METRIC) == metric_words
    assert cloth_length(mm, System.IMPERIAL) == imperial_words
    with show_lengths(Show(System.IMPERIAL)):
        assert cloth_lengths(mm) == f"{imperial_words} ({metric_words})"


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1 in", 25.4),
        ("1 ft", 304.8),
        ("1 yd", 914.4),
        ("1 m", 1000),
        ("1 cm", 10),
        ("1 mm", 1),
        ("36 in", 914.4),
        ("3 ft", 914.4),
    ],
)
def test_units_are_those_of_nist(text: str, mm: float) -> None:
    assert parse_length(text) == mm


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("150 cm", 1500),
        ("  60in ", 1524),
        ('60"', 1524),
        ("60″", 1524),
        ("2 inches", 50.8),
        ("1 Inch", 25.4),
        ("2 yards", 1828.8),
        ("2 YD", 1828.8),
        ("1 in.", 25.4),
        ("1 3/8 yd", 1257.3),
        ("3/8 in", 9.525),
        ("11/8 yd", 1257.3),
        ("½ in", 12.7),
        ("1½ yd", 1371.6),
        ("1 ⅝yd", 1485.9),
        (".5 m", 500),
        ("2. m", 2000),
        ("-3 mm", -3),
        ("-5/8 in", -15.875),
        ("+1 1/2 in", 38.1),
        ("-½ in", -12.7),
        ("+3 mm", 3),
        ("0 mm", 0),
        ("1000 m", 1e6),
    ],
)
def test_reads_what_people_write(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "not a length"),
        ("wide", "not a length"),
        ("cm 150", "not a length"),
        ("nan cm", "not a length"),
        ("inf m", "not a length"),
        ("1e3 mm", "not a length"),
        ("1,5 m", "decimal comma; decimals take a point: '1.5 m'"),
        ("74,25 cm", "'74.25 cm'"),
        ("1,500 mm", "or thousands apart"),
        ("1,500,000 mm", "or thousands apart"),
        ("1 1/2", "no unit"),
        ("150", "no unit"),
        ("150 ", "no unit"),
        ("3 cubits", "unknown unit 'cubits'"),
        ("3 px", "yd; a px is 1/96 in"),
        ("1/0 in", "divides by zero"),
        ("1001 m", "more than a kilometre"),
        ("-1001 m", "more than a kilometre"),
    ],
)
def test_refuses_the_rest_and_says_why(text: str, why: str) -> None:
    with pytest.raises(NotALength, match=why):
        parse_length(text)


def test_an_unknown_unit_is_answered_with_the_known_ones() -> None:
    with pytest.raises(NotALength) as error:
        parse_length("3 cubits")
    assert all(re.search(rf"\b{unit}\b", str(error.value)) for unit in MM_PER_UNIT)


@given(number=st.decimals(0, 900, places=3), unit=st.sampled_from(sorted(MM_PER_UNIT)))
def test_any_decimal_in_any_unit(number: object, unit: str) -> None:
    expected = float(str(number)) * float(MM_PER_UNIT[unit])
    assert parse_length(f"{number} {unit}") == pytest.approx(expected)


@given(text=st.text(max_size=12))
def test_no_text_does_worse_than_not_a_length(text: str) -> None:
    with contextlib.suppress(NotALength):
        assert math.isfinite(parse_length(text))


@pytest.mark.parametrize(
    ("mm", "metric_text", "inch_text", "yard_text"),
    [
        (8, "8 mm", "3/8 in", "1/8 yd"),
        (99.94, "99.9 mm", "3 7/8 in", "1/8 yd"),
        (455, "45.5 cm", "17 7/8 in", "1/2 yd"),
        (914.4, "91.4 cm", "36 in", "1 yd"),
        (1450, "1.45 m", "57 1/8 in", "1 5/8 yd"),
        (1484.2, "1.484 m", "58 3/8 in", "1 5/8 yd"),
        (1500, "1.50 m", "59 in", "1 3/4 yd"),
        (762.5, "76.3 cm", "30 in", "7/8 yd"),
        (999.7, "1.00 m", "39 3/8 in", "1 1/8 yd"),
        (99.97, "10 cm", "3 7/8 in", "1/8 yd"),
        (0, "0 mm", "0 in", "0 yd"),
        (-0.04, "0 mm", "0 in", "0 yd"),
        (-12.7, "-12.7 mm", "-1/2 in", "0 yd"),
    ],
)
def test_lengths_for_people(mm: float, metric_text: str, inch_text: str, yard_text: str) -> None:
    assert (metric(mm), inches(mm), yards(mm)) == (metric_text, inch_text, yard_text)


@given(mm=st.floats(0, 9e5))
def test_metric_text_reads_back_within_its_last_digit(mm: float) -> None:
    last_digit = 1 if mm >= 100 else 0.1
    assert abs(parse_length(metric(mm)) - mm) <= last_digit / 2 + 1e-6


@given(mm=st.floats(0, 9e5))
def test_what_is_enough_is_never_less_and_what_is_not_too_much_never_more(mm: float) -> None:
    assert mm - 1e-5 <= parse_length(cut_length_up(mm)) <= mm + 1.1
    assert mm - 1.1 <= parse_length(cut_length_down(mm)) <= mm + 1e-5


def test_tables_round_as_texts_do() -> None:
    assert [centimetres(mm) for mm in (762.5, 762.4, 0, -0.02)] == ["76.3", "76.2", "0.0", "0.0"]
    assert percent_up(0.33301) == "33.4 %"
    assert inches(39.7, 16) == "1 9/16 in"


@given(mm=st.floats(0, 9e5))
def test_inch_text_reads_back_within_a_sixteenth(mm: float) -> None:
    assert abs(parse_length(inches(mm)) - mm) <= 25.4 / 16 + 1e-6


@given(mm=st.floats(0, 9e5))
def test_yard_text_is_enough_and_no_eighth_too_much(mm: float) -> None:
    assert -1e-5 <= parse_length(yards(mm)) - mm < EIGHTH_YARD


@given(mm=st.floats(0, 1e6), step=st.floats(0.5, 2000))
def test_round_up_is_enough_and_less_than_a_step_more(mm: float, step: float) -> None:
    rounded = round_up(mm, step)
    assert -2e-6 <= rounded - mm < step
    assert rounded / step == pytest.approx(round(rounded / step))


@given(count=st.integers(0, 5000), step=st.sampled_from([10.0, 100.0, 250.0, 500.0, EIGHTH_YARD]))
def test_a_whole_number_of_steps_stays_as_it_is(count: int, step: float) -> None:
    """Steps shops sell by: 1/8 yd, 0.1 m, some 0.25 or 0.5 m (common practice, no source)."""
    assert round_up(count * step, step) == pytest.approx(count * step, abs=1e-6)
    assert round_up(count * step + 0.01, step) == pytest.approx((count + 1) * step, abs=1e-6)


def test_lengths_are_written_in_the_systems_shown() -> None:
    """1 in = 25.4 mm (NIST SP 811): 1238 mm are 48.74 in, 48 3/4 in to 1/8 and to 1/16 in."""
    assert (length(1238), lengths(1238)) == ("1.238 m", "1.238 m (48 3/4 in)")
    with show_lengths(Show(System.IMPERIAL)):
        assert (length(1238), lengths(1238)) == ("48 3/4 in", "48 3/4 in (1.238 m)")
        assert cut_place(43) == "1 11/16 in"
        assert (cut_length_down(43), cut_length_up(43)) == ("1 11/16 in", "1 3/4 in")
    with show_lengths(Show(System.METRIC, both=False)):
        assert (lengths(1238), other_length(1238)) == ("1.238 m", "")
        assert cut_size(1238, 43) == "1.238 m × 43 mm"
    assert lengths(1238) == "1.238 m (48 3/4 in)"


@pytest.mark.parametrize(
    ("wish", "written", "lead", "both"),
    [
        (Systems.BOTH, ["60 in", "5/8 in", "1 3/8 yd", "2 cm", "a note"], System.IMPERIAL, True),
        (Systems.BOTH, ["150 cm", "10 mm", "1 in"], System.METRIC, True),
        (Systems.BOTH, [], System.METRIC, True),
        (Systems.IMPERIAL, ["150 cm"], System.IMPERIAL, False),
        (Systems.METRIC, ["60 in"], System.METRIC, False),
    ],
)
def test_a_jobs_own_units_lead(wish: Systems, written: list[str], lead: System, both: bool) -> None:
    assert show_for(wish, written) == Show(lead, both)


@pytest.mark.parametrize(
    ("mm", "imperial", "in_mm"),
    [(15.875, "5/8 in", "15.875 mm"), (38.1, "1 1/2 in", "38.1 mm"), (10, "10 mm", "10 mm")],
)
def test_an_exact_length_reads_back_as_it_was(mm: float, imperial: str, in_mm: str) -> None:
    for system, text in ((System.IMPERIAL, imperial), (System.METRIC, in_mm)):
        assert exact_length(mm, system) == text
        assert parse_length(text) == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize("text", ["9" * 150 + " m", "9" * 5000 + " m", "x" * 500])
def test_absurd_numbers_are_no_lengths(text: str) -> None:
    with pytest.raises(NotALength, match=r"more than a kilometre|is not a length"):
        parse_length(text)


@pytest.mark.parametrize("show", [Show(), Show(System.IMPERIAL)])
@given(parts=st.lists(st.floats(0, 2000), min_size=2, max_size=5))
def test_the_figures_of_a_sum_add_up_as_they_are_written(show: Show, parts: list[float]) -> None:
    with show_lengths(show):
        figures = that_add_up(parts)
        read = [parse_length(cut_length(mm)) for mm in figures]
        digit = 25.4 / 16 if show.lead is System.IMPERIAL else 1.0
        assert sum(read) == pytest.approx(parse_length(cut_length(sum(parts))))
        assert sum(parts) < 100 or abs(figures[0] - parts[0]) <= digit / 2 + 1e-6
    assert all(abs(a - b) <= digit + 1e-6 for a, b in zip(figures, parts, strict=True))
