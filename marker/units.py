"""Lengths: millimetres inside, the maker's own units outside, and the only rounding rules.

1 in = 25.4 mm and 1 yd = 0.9144 m exactly (international yard and pound agreement, 1959;
NIST SP 811, appendix B).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import accumulate, pairwise

MM_PER_UNIT: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
    "yd": Fraction(9144, 10),
}
_ALIASES = {
    '"': "in",
    "″": "in",
    "inch": "in",
    "inches": "in",
    "foot": "ft",
    "feet": "ft",
    "yard": "yd",
    "yards": "yd",
    "yds": "yd",
}
_METRES = re.compile(r"(milli|centi|)met(?:re|er)s?")
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_LENGTH = re.compile(
    r"\s*(?P<sign>[+-]?)\s*(?:(?P<whole>\d+)\s+)?(?P<num>\d+)\s*/\s*(?P<den>\d+)\s*(?P<unit_f>\D*)"
    r"|\s*(?P<decimal>[+-]?(?:\d+\.?\d*|\.\d+))\s*(?P<unit_d>\D*)"
)
LONGEST_MM = 1e6
EIGHTH_YARD_MM = 914.4 / 8
_LONGEST_TEXT = 200
_HAIR = 1e-6  # a float's dust on a length in mm must not cost the buyer a whole step


class NotALength(ValueError):
    """The text is no length; the message says why and what would be one."""

    def __init__(self, problem: str, remedy: str = "") -> None:
        self.problem, self.remedy = problem, remedy
        super().__init__(f"{problem}; {remedy}" if remedy else problem)


def _with_a_comma(text: str) -> NotALength:
    """Why a length with a comma is none; three figures after it may be thousands."""
    pointed = text.strip().replace(",", ".")
    if _LENGTH.fullmatch(pointed) and not re.search(r"\.\d{3}(?!\d)", pointed):
        return NotALength(f"{text!r} has a decimal comma", f"decimals take a point: {pointed!r}")
    said = "decimals take a point, such as '1.5 m', and thousands take nothing"
    return NotALength(f"{text!r} has a decimal comma or thousands apart", said)


def parse_length(text: str) -> float:
    """Length in mm of a text such as '150 cm', '60 in', '1 3/8 yd' or '½ in'.

    Raises NotALength for anything else: no unit, an unknown unit, no number, a number that is
    not finite or beyond a kilometre. Negative lengths parse; callers say what they allow.
    """
    if len(text) > _LONGEST_TEXT:
        said = "write a number and its unit, such as '1.5 m'"
        raise NotALength(f"{text[:20]!r} and so on is not a length", said)
    plain = text
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    match = _LENGTH.fullmatch(plain.strip())
    if match is None and re.search(r"\d,\d", plain):
        raise _with_a_comma(text)
    if match is None:
        raise NotALength(
            f"{text!r} is not a length", "write a number and its unit, such as '1.5 m'"
        )
    unit = match["unit_f"] if match["num"] else match["unit_d"]
    factor = MM_PER_UNIT.get(_unit_name(unit))
    if factor is None:
        known = ", ".join(MM_PER_UNIT)
        said = f"unknown unit {unit.strip()!r}" if unit.strip() else "no unit"
        pixels = "; a px is 1/96 in (CSS)" if _unit_name(unit) == "px" else ""
        raise NotALength(f"{said} in {text!r}", f"units are {known}{pixels}")
    exact_mm = _number(match) * factor
    if abs(exact_mm) > LONGEST_MM:  # before it becomes a float, which may not hold it
        raise NotALength(f"{text!r} is more than a kilometre")
    return float(exact_mm)


def in_unit_of(text: str, mm: float) -> str:
    """A length in the unit of a text, rounded down to a tenth of it: '393.7 in' for 10 m."""
    match = _LENGTH.fullmatch(text.strip())
    unit = _unit_name(match["unit_f"] or match["unit_d"] or "") if match else ""
    if unit not in MM_PER_UNIT:
        return metric(mm)
    return f"{math.floor(mm / float(MM_PER_UNIT[unit]) * 10 + _HAIR) / 10:.10g} {unit}"


def _unit_name(unit: str) -> str:
    word = unit.strip().lower().rstrip(".")
    metres = _METRES.fullmatch(word)
    return f"{metres[1][:1]}m" if metres else _ALIASES.get(word, word)


def _number(match: re.Match[str]) -> Fraction:
    if match["num"]:
        if int(match["den"]) == 0:
            raise NotALength(f"{match[0]!r} divides by zero")
        size = int(match["whole"] or 0) + Fraction(int(match["num"]), int(match["den"]))
        return -size if match["sign"] == "-" else size
    return Fraction(match["decimal"])


def round_up(mm: float, step_mm: float) -> float:
    """Smallest whole multiple of `step_mm` not below `mm`, both mm."""
    return math.ceil(mm / step_mm - _HAIR / step_mm) * step_mm


class System(StrEnum):
    """A system of units."""

    METRIC = "metric"
    IMPERIAL = "imperial"

    @property
    def other(self) -> System:
        """The one that is not this."""
        return System.IMPERIAL if self is System.METRIC else System.METRIC


@dataclass(frozen=True)
class Show:
    """How lengths are written: which system leads, and whether the other follows in brackets."""

    lead: System = System.METRIC
    both: bool = True


class Systems(StrEnum):
    """The systems of units that a job asks for."""

    METRIC = "metric"
    IMPERIAL = "imperial"
    BOTH = "both"


def show_for(wish: Systems, written: Iterable[str]) -> Show:
    """How lengths are written for a job: as it wishes, the system led by that most of its own
    lengths are in.

    written : its texts; those that are no lengths do not count.
    """
    if wish in (Systems.METRIC, Systems.IMPERIAL):
        return Show(System(wish.value), both=False)
    imperial = {"in", "ft", "yd"}
    named = [_unit_name(match["unit_f"] or match["unit_d"] or "")
             for match in map(_LENGTH.fullmatch, written) if match]  # fmt: skip
    counts = [sum(unit in imperial for unit in named), sum(unit in MM_PER_UNIT for unit in named)]
    return Show(System.IMPERIAL if 2 * counts[0] > counts[1] else System.METRIC)


_USUAL = Show()
_SHOW: ContextVar[Show] = ContextVar("show", default=_USUAL)


def shown() -> Show:
    """How lengths are written here; see `show_lengths`."""
    return _SHOW.get()


@contextmanager
def show_lengths(show: Show) -> Iterator[None]:
    """All lengths written within are written so: for one command, or one answer of the page.

    It is to lengths what the context of `decimal` is to numbers: each thread has its own.
    """
    before = _SHOW.set(show)
    try:
        yield
    finally:
        _SHOW.reset(before)


def show_from_here(show: Show) -> None:
    """All lengths written from here on are written so, up to the end of `show_lengths` around."""
    _SHOW.set(show)


def length(mm: float, system: System | None = None) -> str:
    """Length for a person in one system, the leading one unless given: '1.45 m', '57 1/8 in'."""
    lead = system or shown().lead
    return metric(mm) if lead is System.METRIC else inches(mm)


def lengths(mm: float) -> str:
    """Length for a person in the systems shown: '1.45 m (57 1/8 in)'."""
    return _bracketed(length(mm), length(mm, shown().lead.other) if shown().both else "")


def that_add_up(parts_mm: Iterable[float]) -> list[float]:
    """The parts of a sum, mm, rounded to the last digit that `cut_length` writes of the whole.

    So the figures add up. Each is the difference of two rounded running sums. The first part and
    the whole are rounded as if alone; any other part is off by one last digit at most.
    """
    sums = [0.0, *accumulate(parts_mm)]
    if shown().lead is System.IMPERIAL:
        rounded = [round(mm / 25.4 * 16) * 25.4 / 16 for mm in sums]
    else:
        rounded = [_half_up(mm, 1 if abs(sums[-1]) < 100 else 0) for mm in sums]
    return [after - before for before, after in pairwise(rounded)]


def exact_length(mm: float, system: System) -> str:
    """Exactly that length, as a job file has it: '5/8 in' where it is whole sixty-fourths of an
    inch and they lead, else in mm."""
    whole = round(mm / 25.4 * 64) * 25.4 / 64
    if system is System.IMPERIAL and math.isclose(whole, mm, abs_tol=_HAIR):
        return inches(mm, 64)
    return f"{mm:.10g} mm"


def cloth_length(mm: float, system: System | None = None) -> str:
    """Cloth of many plies, or on a roll: '8.676 m', '9.49 yd'; less than two yards in inches."""
    lead = system or shown().lead
    yard = float(MM_PER_UNIT["yd"])
    if lead is System.METRIC or abs(mm) < 2 * yard:
        return length(mm, lead)
    return f"{_half_up(mm / yard, 2):.2f} yd"


def cloth_lengths(mm: float) -> str:
    """`cloth_length` in the systems shown."""
    return _bracketed(
        cloth_length(mm), cloth_length(mm, shown().lead.other) if shown().both else ""
    )


def other_length(mm: float) -> str:
    """Length to cut in the system that does not lead; '' where it is not shown."""
    return cut_length(mm, shown().lead.other) if shown().both else ""


def cut_length(mm: float, system: System | None = None) -> str:
    """Length to cut, however long, to the millimetre or to 1/16 in: '1.238 m', '48 3/4 in'.

    Less than that is told more finely: '0.3 mm', '1/64 in'. Messages give all measures so.
    """
    lead = system or shown().lead
    if lead is System.METRIC:
        return metric(mm)
    return inches(mm, 16 if abs(mm) > float(MM_PER_UNIT["in"]) / 32 else 64)


def fine_length(mm: float) -> str:
    """A measure that decides something by a hair: '0.42 mm', '0.017 in'."""
    if shown().lead is System.METRIC:
        return f"{mm:.2f} mm"
    return f"{mm / float(MM_PER_UNIT['in']):.3f} in"


def area(mm2: float, *, small: bool = False) -> str:
    """An area for a person: '1.24 m²', '86 cm²'; '1.48 yd²', '13.3 in²'. small : in these alone."""
    metric_leads = shown().lead is System.METRIC
    large, fine = ("m", "cm") if metric_leads else ("yd", "in")
    if not small and mm2 >= float(MM_PER_UNIT[large]) ** 2 / 10:
        return f"{mm2 / float(MM_PER_UNIT[large]) ** 2:.2f} {large}²"
    return f"{mm2 / float(MM_PER_UNIT[fine]) ** 2:.{0 if metric_leads else 1}f} {fine}²"


def fine_area(mm2: float) -> str:
    """An area that decides something by a hair: '0.42 mm²', '0.017 in²'."""
    if shown().lead is System.METRIC:
        return f"{mm2:.2f} mm²"
    return f"{mm2 / float(MM_PER_UNIT['in']) ** 2:.3f} in²"


CUT_UNITS = {System.METRIC: "cm", System.IMPERIAL: "in"}
"""What `cut_figure` counts in."""


def cut_figure(mm: float, system: System) -> str:
    """A length to cut as a figure of one unit, for columns and pairs: '4.3', '1 11/16'."""
    return centimetres(mm) if system is System.METRIC else inches(mm, 16).removesuffix(" in")


def cut_lengths(mm: float) -> str:
    """Length to cut in the systems shown: '1.238 m (48 3/4 in)'."""
    return _bracketed(cut_length(mm), other_length(mm))


def cut_size(along_mm: float, across_mm: float) -> str:
    """Two lengths to cut: '47.5 cm × 50.8 mm (18 11/16 in × 2 in)'."""
    lead = shown().lead
    first, second = (
        f"{cut_length(along_mm, system)} × {cut_length(across_mm, system)}"
        for system in (lead, lead.other)
    )
    return _bracketed(first, second if shown().both else "")


def cut_place(mm: float) -> str:
    """A place to mark along something, in one unit whatever its size: '4.3 cm', '1 11/16 in'."""
    lead = shown().lead
    return f"{cut_figure(mm, lead)} {CUT_UNITS[lead]}"


def step_length(mm: float) -> str:
    """A step that a shop sells by, in yards where it is a whole number of eighths: '1/8 yd'."""
    eighths = mm / EIGHTH_YARD_MM
    return yards(mm) if math.isclose(eighths, round(eighths)) else cut_lengths(mm)


def _bracketed(first: str, second: str) -> str:
    return f"{first} ({second})" if second else first


def metric(mm: float) -> str:
    """Length for a person: '1.45 m', '1.484 m', '45.5 cm' or '8 mm'; from 10 cm on to the mm."""
    if abs(mm) < 99.95:  # what is told as 100 mm is told as 10 cm
        return f"{_trim(mm)} mm"
    if abs(mm) < 999.5:
        return f"{_trim(mm / 10)} cm"
    metres = f"{_half_up(mm / 1000, 3):.3f}"
    return f"{metres.removesuffix('0')} m"


def cut_length_up(mm: float) -> str:
    """`cut_length`, no less than it is: what is enough."""
    return cut_length(round_up(mm, _last_digit(mm)))


def cut_length_down(mm: float) -> str:
    """`cut_length`, no more than it is: what is not too much."""
    return cut_length(-round_up(-mm, _last_digit(mm)))


def centimetres(mm: float) -> str:
    """Length for a table in cm, to the mm: '145.0'."""
    return f"{_half_up(mm / 10, 1):.1f}"


def _last_digit(mm: float) -> float:
    """What the last digit of `cut_length` stands for, mm."""
    if shown().lead is System.IMPERIAL:
        return float(MM_PER_UNIT["in"]) / 16
    return 1.0 if abs(mm) >= 100 else 0.1


def yards(mm: float) -> str:
    """Length to buy in yards, rounded up to the next 1/8 yd: '1 5/8 yd'."""
    return f"{_mixed(round_up(mm, EIGHTH_YARD_MM) / 914.4, 8)} yd"


def inches(mm: float, parts: int = 8) -> str:
    """Length in inches to the nearest 1/8 in, or another part of one: '45 1/4 in'."""
    return f"{_mixed(mm / 25.4, parts)} in"


def percent(share: float) -> str:
    """Share for a person: '17.6 %'."""
    return f"{_trim(100 * share)} %"


def percent_up(share: float) -> str:
    """`percent`, no less than it is: what is enough."""
    return percent(round_up(100_000 * share, 100) / 100_000)


def _half_up(value: float, places: int) -> float:
    """Rounded to so many places, halves up and never to -0."""
    scale = 10.0**places
    return math.floor(value * scale + 0.5 + _HAIR) / scale + 0.0


def _trim(value: float) -> str:
    return f"{_half_up(value, 1):.1f}".removesuffix(".0")


def _mixed(value: float, denominator: int) -> str:
    """'1 5/8' for 1.625: the nearest whole number of 1/denominator, fraction in lowest terms."""
    eighths = round(value * denominator)
    whole, rest = divmod(abs(eighths), denominator)
    part = str(Fraction(rest, denominator)) if rest else ""
    sign = "-" if eighths < 0 else ""
    return sign + (" ".join(filter(None, [str(whole) if whole or not part else "", part])))
