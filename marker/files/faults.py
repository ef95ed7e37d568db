"""Gathering every fault of a file before complaining once."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path

from marker.errors import Fault, FaultyInput, MarkerError
from marker.files.toml_places import TomlLines

MOST_TOLD = 200  # faults of one file: nobody reads more at once
MOST_COMPARED = 500  # known words that an unknown one is compared with


class Unusable(MarkerError):
    """Something is wrong in a place that the caller knows; `FaultList.gathering` adds the place.

    line : of the file, where the one who raises it knows.
    """

    def __init__(self, problem: str, remedy: str, line: int = 0) -> None:
        self.problem, self.remedy, self.line = problem, remedy, line
        super().__init__(f"{problem}. {remedy}.")

    @classmethod
    def unknown(cls, what: str, word: str, known: Iterable[str]) -> Unusable:
        """A reference to something that is not there, with the nearest that is."""
        return cls(f"there is no {what} called '{word[:60]}'", nearest(word, known))


BROKEN = (ValueError, TypeError, LookupError, AttributeError, ArithmeticError, RecursionError)
"""What libraries raise at files that are broken in ways they did not think of. Catch them around a
library's own calls only: the same errors are ours anywhere else."""


class FaultList:
    """The faults found so far in one file, all raised together at the end.

    part : of the file, in which the places of added faults lie. lines : of the file's text, where
        that is known.
    """

    def __init__(
        self,
        file: Path,
        part: str = "",
        found: list[Fault] | None = None,
        lines: TomlLines | None = None,
    ) -> None:
        self.file, self.part, self.lines = file, part, lines
        self.found = [] if found is None else found

    def under(self, part: str) -> FaultList:
        """The same list, its places inside `part` of the file."""
        return FaultList(self.file, part, self.found, self.lines)

    def apart(self) -> FaultList:
        """A list of its own for the same file."""
        return FaultList(self.file, self.part, lines=self.lines)

    def add(self, key: str, problem: str, remedy: str, line: int = 0) -> None:
        """Note a fault at `key`, which may be empty when the whole part is meant.

        line : of the file; where the key stands unless given.
        """
        keys = ", ".join(filter(None, [self.part, key]))
        if self.lines and keys and not line:
            line = self.lines.line(keys)
        file = f"{self.file}:{line}" if line else str(self.file)
        place = f"{file}: {keys}" if keys else file
        self.found.append(Fault(place, problem, remedy, str(self.file), line))

    @contextmanager
    def gathering(self, key: str) -> Iterator[None]:
        """Note an `Unusable` raised inside the block as a fault at `key`, and go on."""
        try:
            yield
        except Unusable as fault:
            self.add(key, fault.problem, fault.remedy, fault.line)

    def raise_any(self) -> None:
        """Raise FaultyInput with every fault found, by file and line, if there is one."""
        if self.found:
            files = list(dict.fromkeys(fault.file for fault in self.found))
            in_order = sorted(self.found, key=lambda f: (files.index(f.file), f.line))
            raise FaultyInput([*in_order[:MOST_TOLD], *self._untold()])

    def _untold(self) -> list[Fault]:
        """One fault for all that are too many to be read."""
        more = len(self.found) - MOST_TOLD
        problem, remedy = f"there are {more} more faults", "Correct these first"
        return [Fault(str(self.file), problem, remedy, str(self.file))] if more > 0 else []


def nearest(word: str, known: Iterable[str]) -> str:
    """A remedy for an unknown word: the known one most like it, or else all of them."""
    names = list(known)
    if len(names) == 1:
        return f"The only one is '{names[0]}'"
    close = closest(word, names)
    if close is not None:
        return f"Did you mean '{close}'? Known are {_listed(names)}"
    return f"Known are {_listed(names)}" if names else "There is none to choose from"


def closest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like one that is not known, if one is like it at all."""
    by_lower = {name.lower(): name for name in islice(known, MOST_COMPARED)}
    close = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=0.5)
    return by_lower[close[0]] if close else None


def _listed(names: Iterable[str]) -> str:
    shown = [f"'{name}'" for name in names]
    return ", ".join(shown[:30]) + (f" and {len(shown) - 30} more" if len(shown) > 30 else "")
