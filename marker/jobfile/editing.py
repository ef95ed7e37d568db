"""Changes to a job file that keep its comments, its order and its way of writing.

A place is a path of keys and entries: ("cloth", "crepe", "width"), ("piece", "front", "edges",
"hem"), ("piece", 0, "notches", 2, "at"). An entry of a list is its number from 0, or the name of
its table.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from marker.errors import Fault, FaultyInput
from marker.files.faults import FaultList, Unusable
from marker.files.reading import read_text
from marker.files.toml import parse_toml
from marker.files.toml_edits import Place, with_value, without
from marker.files.writing import write_atomically
from marker.jobfile.reading import read_job

Value = str | int | float | bool | Sequence[Any] | Mapping[str, Any]


@dataclass(frozen=True)
class Patch:
    """What two texts differ by: at a character, what was removed and what was added."""

    at: int
    removed: str
    added: str

    @classmethod
    def between(cls, before: str, after: str) -> Patch:
        """The one patch that makes a text another, as short as one can be."""
        start = _alike(before, after)
        end = _alike(before[start:][::-1], after[start:][::-1])
        return cls(start, before[start : len(before) - end], after[start : len(after) - end])

    @property
    def undone(self) -> Patch:
        """The patch that takes this one back."""
        return Patch(self.at, self.added, self.removed)

    def applied(self, text: str) -> str:
        """The text so changed; raises Unusable where it does not hold what is to be removed."""
        if not text.startswith(self.removed, self.at):
            raise Unusable("the text has changed in between", "Load it again")
        return text[: self.at] + self.added + text[self.at + len(self.removed) :]


@dataclass(frozen=True)
class JobText:
    """The text of a job file, checked. Every change gives a new one.

    path : of the file, beside which its drawings lie. stored : what the file held when it was
    loaded. faults : of the text; none in a sound job.
    """

    path: Path
    text: str
    stored: str
    faults: tuple[Fault, ...]

    def set(self, place: Place, value: Value) -> JobText:
        """The text with this value at the place, added where nothing is there yet.

        Tables and lists on the way to it are made; an entry is added behind the last of its list.
        Raises FaultyInput for an entry that can't be there.
        """
        with _at(self.path, place):
            text = with_value(self.text, place, value)
        return self._with(text)

    def remove(self, place: Place) -> JobText:
        """The text without what is at the place; raises FaultyInput if nothing is."""
        with _at(self.path, place):
            text = without(self.text, place)
        return self._with(text)

    def patched(self, patch: Patch) -> JobText:
        """The text with a patch applied; raises FaultyInput where it does not fit."""
        with _at(self.path, ()):
            text = patch.applied(self.text)
        return self._with(text)

    def write(self, although_faulty: bool = False) -> JobText:
        """Write the file.

        Raises FaultyInput, and writes nothing, for a text with faults unless told to, and where the
        file no longer holds what was loaded.
        """
        if self.faults and not although_faulty:
            raise FaultyInput(self.faults)
        with _at(self.path, ()):
            if read_text(self.path) != self.stored:
                raise Unusable("the file has changed since it was loaded", "Load it again")
        write_atomically(self.path, self.text)
        return replace(self, stored=self.text)

    def _with(self, text: str) -> JobText:
        return replace(self, text=text, faults=_faults(self.path, text))


def load(path: Path) -> JobText:
    """The text of a job file; raises FaultyInput if it can't be read as TOML at all."""
    with _at(path, ()):
        text = read_text(path)
        parse_toml(text)
    return JobText(path, text, text, _faults(path, text))


def _alike(one: str, two: str) -> int:
    """How many characters two texts begin with alike."""
    pairs = enumerate(zip(one, two, strict=False))
    return next((k for k, (a, b) in pairs if a != b), min(len(one), len(two)))


@contextmanager
def _at(path: Path, place: Place) -> Iterator[None]:
    """Raise an `Unusable` of the block as FaultyInput that names the file and the place."""
    faults = FaultList(path)
    with faults.gathering(".".join(map(str, place))):
        yield
    faults.raise_any()


def _faults(path: Path, text: str) -> tuple[Fault, ...]:
    try:
        read_job(path, text)
    except FaultyInput as faulty:
        return faulty.faults
    return ()
