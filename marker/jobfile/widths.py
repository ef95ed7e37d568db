"""Widths of a cloth as a line of text, '110cm,140cm=12.50': some with a price of their own."""

from __future__ import annotations

import math
from dataclasses import replace

from marker.cloth.buying import as_sold
from marker.cloth.fabric import Cloth
from marker.errors import Fault, FaultyInput
from marker.files.faults import Unusable
from marker.jobfile.cloths import WIDEST_CLOTH_MM
from marker.tolerances import SAME_POINT_MM
from marker.units import NotALength, metric, parse_length

MOST_WIDTHS = 20
MOST_PRICE = 1e6


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
            f"{metric(width)} leaves nothing between the selvages of {cloth.name}",
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
        raise Unusable(str(error), remedy) from error
    if not 0 < width <= WIDEST_CLOTH_MM:
        said = "absurd" if width > 0 else "not more than nothing"
        raise Unusable(f"a width of {metric(width)} is {said}", "Check the number and unit")
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
