"""What is ordered, out of a person's text: garments of each size, in one colour or several."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from marker.cloth.fabric import Cloth
from marker.errors import Fault, FaultyInput
from marker.files.faults import nearest
from marker.job import Job
from marker.words import ONE_SIZE, spelled_as

MOST_GARMENTS = 100_000
MOST_NAMES = 200
"""Sizes, and colours, of one order."""
LONGEST_NAME = 60
_WHOLE = re.compile(r"([0-9]{1,9})(?:[.,]0{1,2})?")
_GARMENTS = {"garment", "garments", "count", "number", "quantity", "qty"}

Demand = Mapping[str, Mapping[str, int]]
"""Colour -> size -> garments."""

Blame = Callable[[str, str], Fault]
"""Problem and remedy -> the fault, with the place it stands at."""


@dataclass(frozen=True)
class Count:
    """A number of garments as it is written."""

    colour: str
    size: str
    text: str
    blame: Blame


@dataclass
class Written:
    """An order as it is written, before it is checked.

    blame : for what is wrong with all of it. sizes, colours : each with where it is first named.
    counts : every number. faults : of the form that it is written in.
    """

    blame: Blame
    sizes: dict[str, Blame] = field(default_factory=dict)
    colours: dict[str, Blame] = field(default_factory=dict)
    counts: list[Count] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def demand(self, job: Job | None) -> tuple[Demand, list[Fault]]:
        """The garments wanted, with every fault; sizes of none are left out where there is a job.

        job : whose sizes and rolls are ordered; None where sizes and colours are mere names.
        """
        if _no_sizes(job) and len(self.sizes) == 1:
            self._count_garments()
        faults = [*self.faults, *self._name_faults()]
        faults += self._twice()
        known = {} if job is None else {c: _as_on_the_rolls(c, job) for c in self.colours}
        found: dict[str, dict[str, int]] = {known.get(c, c): {} for c in self.colours}
        for count in self.counts:
            number = number_of(count.text)
            if number is None:
                faults.append(_no_number(count))
            elif number or job is None:
                found[known.get(count.colour, count.colour)][count.size] = number
        if job is not None:
            faults += self._job_faults(job, known)
        if not faults:
            faults += _total_faults(self.blame, found)
        return found, faults

    def _count_garments(self) -> None:
        """Of a pattern that comes in no sizes garments are counted; so may the order say."""
        self.sizes = {_without_size(size): blame for size, blame in self.sizes.items()}
        self.counts = [replace(each, size=_without_size(each.size)) for each in self.counts]

    def _name_faults(self) -> Iterator[Fault]:
        for what, names in (("sizes", self.sizes), ("colours", self.colours)):
            if len(names) > MOST_NAMES:
                said = f"{len(names)} {what} are more than are planned at once"
                yield self.blame(said, f"Order at most {MOST_NAMES} {what}")

    def _twice(self) -> Iterator[Fault]:
        """Colours that differ in how they are spelled alone, of as many as may be ordered."""
        colours = list(self.colours)[:MOST_NAMES]
        for number, colour in enumerate(colours):
            before = spelled_as(colour, colours[:number])
            if before is not None:
                said = f"'{colour}' is there twice, also as '{before}'"
                yield self.colours[colour](said, "Give each colour once")

    def _job_faults(self, job: Job, known: Mapping[str, str]) -> Iterator[Fault]:
        """Sizes that the pattern lacks; colours that the rolls of a cloth lack, where they are
        read as they are meant."""
        for size, blame in self.sizes.items():
            if size not in job.sizes:
                yield blame(f"the pattern has no size '{size}'", nearest(size, job.sizes))
        for cloth in job.cloths:
            rolls = list(cloth.rolls)
            of_any = rolls == [""] and len(self.colours) == 1
            if rolls and not of_any and not self.faults:
                for colour, blame in self.colours.items():
                    if known[colour] not in rolls:
                        yield blame(*_no_rolls(cloth, known[colour]))


def _no_sizes(job: Job | None) -> bool:
    return job is not None and list(job.sizes) == [ONE_SIZE]


def _without_size(name: str) -> str:
    return ONE_SIZE if name.casefold() in _GARMENTS else name


def no_name(name: str) -> bool:
    """Whether a text can't be a size or a colour."""
    return not name or not name.isprintable() or len(name) > LONGEST_NAME


def number_of(text: str) -> int | None:
    """A whole number from 0, also with one or two decimals that are none: '4,0'. Not with three,
    which may be thousands."""
    plain = _WHOLE.fullmatch(text)
    return int(plain[1]) if plain else None


def _no_number(count: Count) -> Fault:
    of = "" if count.size == ONE_SIZE else f" for size '{count.size}'"
    return count.blame(
        f"'{count.text}' is no number of garments{of}",
        f"Give a whole number from 0 to {MOST_GARMENTS}, without signs, commas or points",
    )


def _total_faults(blame: Blame, demand: Demand) -> Iterator[Fault]:
    total = sum(sum(sizes.values()) for sizes in demand.values())
    if total == 0:
        yield blame("no garment is ordered", "Give at least one size a number above 0")
    if total > MOST_GARMENTS:
        said = f"{total} garments are more than are planned at once"
        yield blame(said, f"Order at most {MOST_GARMENTS}")


def _as_on_the_rolls(colour: str, job: Job) -> str:
    """A colour spelled as the job's rolls spell it."""
    return spelled_as(colour, [each for cloth in job.cloths for each in cloth.rolls]) or colour


def _no_rolls(cloth: Cloth, colour: str) -> tuple[str, str]:
    asked = f"no rolls in {colour}" if colour else "rolls by colour, but none is ordered"
    remedy = f"Order what there is, or write rolls = {{ {colour or 'red'} = [...], ... }}"
    return f"{cloth.name} has {asked}", remedy


def read_demand(place: str, texts: Sequence[str], job: Job | None = None) -> Demand:
    """The garments wanted; each text is one colour's, named before a colon unless it is alone.

    place : what the texts were given as, for messages. job : see `Written.demand`. Raises
    FaultyInput with every fault.
    """
    written = Written(partial(Fault, place))
    no_sizes = _no_sizes(job)
    for text in texts:
        colour, _, sizes = text.rpartition(":")
        colour, blame = colour.strip(), partial(Fault, f"{place} '{text}'")
        if not colour and len(texts) > 1:
            written.faults.append(blame("no colour is named", "Write 'red: S=3,M=4'"))
        elif colour in written.colours:
            written.faults.append(blame(f"'{colour}' is there twice", "Give each colour once"))
        written.colours.setdefault(colour, blame)
        _add_sizes(written, colour, sizes, blame, no_sizes=no_sizes)
    demand, faults = written.demand(job)
    if faults:
        raise FaultyInput(faults)
    return demand


def _add_sizes(written: Written, colour: str, sizes: str, blame: Blame, *, no_sizes: bool) -> None:
    named: set[str] = set()
    for part in sizes.split(","):
        size, equals, number = (word.strip() for word in part.partition("="))
        if not equals and no_sizes:
            size, number = ONE_SIZE, size
        elif not equals or no_name(size):
            said = f"'{part.strip()}' is not a size and a number"
            written.faults.append(blame(said, "Write SIZE=NUMBER, such as S=300,M=600"))
            continue
        if size in named:
            written.faults.append(blame(f"size '{size}' is there twice", "Give each size once"))
        named.add(size)
        written.sizes.setdefault(size, blame)
        written.counts.append(Count(colour, size, number, blame))


def job_demand(job: Job, place: str) -> Demand:
    """The job's own order, of which no colour is named. Raises FaultyInput where the rolls ask for
    one."""
    blame = partial(Fault, place)
    counts = [Count("", size, str(number), blame) for size, number in job.order.items()]
    written = Written(blame, dict.fromkeys(job.order, blame), {"": blame}, counts)
    demand, faults = written.demand(job)
    if faults:
        raise FaultyInput(faults)
    return demand
