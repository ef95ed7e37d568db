"""What options say of a job in a line of text: an order, widths, a spread."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

from marker.cloth.buying import as_sold
from marker.cloth.fabric import FREE, Cloth, Cost
from marker.cloth.spread import Spreading
from marker.errors import Fault, FaultyInput
from marker.files.faults import Unusable, nearest
from marker.job import Reader
from marker.jobfile.stock_table import WIDEST_CLOTH_MM
from marker.tolerances import SAME_POINT_MM
from marker.units import NotALength, cut_length, in_unit_of, parse_length
from marker.words import spelled_as

MOST_WIDTHS = 20
MOST_PRICE = 1e6
MOST_PERCENT = 1000
MOST_COST_MM = 1e6


def read_over_cut(place: str, text: str) -> Fraction | None:
    """The share of each size that may be cut beyond the order, from '5%'; None from 'any'."""
    word = text.strip()
    if word == "any":
        return None
    digits = word.removesuffix("%").strip()
    whole, _, part = digits.partition(".")
    plain = (whole + part).isascii() and (whole + part).isdigit() and len(digits) < 10
    if not word.endswith("%") or not plain or not Fraction(digits) <= MOST_PERCENT:
        problem = f"'{text}' is no over-cut"
        remedy = f"Write 'any', or a share of each size from 0% to {MOST_PERCENT}%, such as 5%"
        raise FaultyInput([Fault(place, problem, remedy)])
    return Fraction(digits) / 100


def read_cost(place: str, text: str | None) -> Cost:
    """What something costs, from an amount such as '2.50', or a length of cloth; None for nothing.

    place : what the text was given as, for messages. Raises FaultyInput.
    """
    if text is None:
        return FREE
    try:
        amount = float(text)
    except ValueError:
        amount = None
    if amount is not None and 0 <= amount <= MOST_PRICE:
        return Cost(amount)
    try:
        mm = -1.0 if amount is not None else parse_length(text)
    except NotALength:
        mm = -1.0
    if not 0 <= mm <= MOST_COST_MM:
        said = f"'{text}' is no cost"
        remedy = "Write an amount such as 2.50, or a length of cloth of that price, such as '30 cm'"
        raise FaultyInput([Fault(place, said, remedy)])
    return Cost(cloth_mm=mm)


def read_widths(place: str, text: str, cloth: Cloth) -> tuple[Cloth, ...]:
    """The cloth in each width of the text; a price is for the length that the cloth's own is for.

    place : what the text was given as, for messages. Raises FaultyInput with every fault.
    """
    faults: list[Fault] = []
    found: list[Cloth] = []
    parts = text.split(",")
    if len(parts) > MOST_WIDTHS:
        said = f"{len(parts)} widths are too many to lay"
        raise FaultyInput([Fault(place, said, f"Give at most {MOST_WIDTHS}")])
    for part in parts:
        try:
            found.append(_cloth(part, cloth, found))
        except Unusable as fault:
            faults.append(Fault(f"{place} '{part.strip()}'", fault.problem, fault.remedy))
    if faults:
        raise FaultyInput(faults)
    return tuple(found)


def _cloth(part: str, cloth: Cloth, before: list[Cloth]) -> Cloth:
    width_text, has_price, price_text = part.partition("=")
    width = _width(width_text)
    found = as_sold(cloth, width)
    if found.usable_width_mm <= 0:
        raise Unusable(
            f"{cut_length(width)} leaves nothing between the selvages of {cloth.name}",
            "Give a wider one",
        )
    if any(abs(other.width_mm - width) < SAME_POINT_MM for other in before):
        raise Unusable("this width is there twice", "Give each width once")
    return _priced(found, price_text) if has_price else found


def _width(text: str) -> float:
    try:
        width = parse_length(text.strip())
    except NotALength as error:
        remedy = "Write widths with their units and commas between, such as 110cm,150cm"
        raise Unusable(error.problem, remedy) from error
    if not 0 < width <= WIDEST_CLOTH_MM:
        most = in_unit_of(text, WIDEST_CLOTH_MM)
        said = f"more than {most}, the widest that cloth may be" if width > 0 else "not above 0"
        raise Unusable(f"a width of {text.strip()} is {said}", "Check the number and unit")
    return width


def _priced(cloth: Cloth, text: str) -> Cloth:
    if cloth.price is None:
        raise Unusable(
            f"a price is given, but {cloth.name} has none in the job to say what it is for",
            'Give it one there, such as { amount = 12.50, per = "1 m", currency = "EUR" }',
        )
    try:
        amount = float(text)
    except ValueError:
        amount = math.nan
    if not 0 <= amount <= MOST_PRICE:
        said = f"{text.strip()!r} is no price"
        raise Unusable(said, "Write an amount such as 12.50, with a point and no currency")
    return replace(cloth, price=replace(cloth.price, amount=amount))


def read_reader(place: str, text: str | None) -> Reader | None:
    """Whom sheets are for, by name; None for none. Raises FaultyInput for any other name."""
    known = None if text is None else spelled_as(text, Reader)
    if text is not None and known is None:
        raise FaultyInput([Fault(place, f"'{text}' is no reader", nearest(text, [*Reader]))])
    return None if known is None else Reader(known)


def read_spread(place: str, text: str) -> Spreading:
    """The way to spread a cloth of that name; raises FaultyInput for any other."""
    known = spelled_as(text, Spreading)
    if known is None:
        problem = f"'{text}' is no way to spread a cloth"
        raise FaultyInput([Fault(place, problem, nearest(text, [*Spreading, "best"]))])
    return Spreading(known)
