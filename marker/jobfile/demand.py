"""An order as a line of text, 'S=300,M=600,L=400', with its colour where there are several."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from marker.errors import Fault, FaultyInput

MOST_GARMENTS = 100_000
LONGEST_NAME = 60
MOST_PERCENT = 1000

Demand = Mapping[str, Mapping[str, int]]
"""Colour -> size -> garments."""


class _NotDemand(ValueError):
    """A part of the text is wrong: what, and how to mend it."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(problem)
        self.problem, self.remedy = problem, remedy


def read_demand(place: str, texts: Sequence[str]) -> Demand:
    """The garments wanted; each text is one colour's, named before a colon unless it is alone.

    place : what the texts were given as, for messages. Raises FaultyInput with every fault.
    """
    faults: list[Fault] = []
    demand: dict[str, dict[str, int]] = {}
    for text in texts:
        colour, _, sizes = text.rpartition(":")
        colour = colour.strip()
        where = f"{place} '{text}'"
        if not colour and len(texts) > 1:
            faults.append(Fault(where, "no colour is named", "Write 'red: S=3,M=4'"))
        elif colour in demand:
            faults.append(Fault(where, f"'{colour}' is there twice", "Give each colour once"))
        demand[colour] = {}
        for fault in _add_sizes(demand[colour], sizes):
            faults.append(Fault(where, fault.problem, fault.remedy))
    faults.extend(_total_faults(place, demand) if not faults else ())
    if faults:
        raise FaultyInput(faults)
    return demand


def _add_sizes(found: dict[str, int], text: str) -> Iterator[_NotDemand]:
    """Add what the text says to `found`; yields what is wrong with it."""
    for part in text.split(","):
        try:
            size, number = _size_and_number(part)
            if size in found:
                raise _NotDemand(f"size '{size}' is there twice", "Give each size once")
            found[size] = number
        except _NotDemand as fault:
            yield fault


def _size_and_number(part: str) -> tuple[str, int]:
    size, equals, number = (word.strip() for word in part.partition("="))
    if not equals or not size or not size.isprintable() or len(size) > LONGEST_NAME:
        raise _NotDemand(
            f"'{part.strip()}' is not a size and a number", "Write SIZE=NUMBER, such as S=300,M=600"
        )
    if not (number.isascii() and number.isdigit() and len(number) < 10):
        raise _NotDemand(
            f"'{number}' is no number of garments for size '{size}'",
            f"Give a whole number from 0 to {MOST_GARMENTS}",
        )
    return size, int(number)


def _total_faults(place: str, demand: Demand) -> Iterator[Fault]:
    total = sum(sum(sizes.values()) for sizes in demand.values())
    if total == 0:
        yield Fault(place, "no garment is ordered", "Give at least one size a number above 0")
    if total > MOST_GARMENTS:
        yield Fault(
            place,
            f"{total} garments are more than are planned at once",
            f"Order at most {MOST_GARMENTS}",
        )


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
