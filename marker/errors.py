"""What can go wrong, in the words of the person who must put it right.

Only the shells (`marker.cli`) turn these into messages on a screen and exit codes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from typing import Any


class MarkerError(Exception):
    """Base of every error this project raises on purpose.

    It is whole after a way to another process, whatever it is made from: one that can't be read
    there ends the processes that lay markers.
    """

    def __reduce__(self) -> tuple[Any, ...]:
        return _made_again, (type(self), self.args, self.__dict__)


def _made_again(kind: type[MarkerError], args: tuple[Any, ...], own: dict[str, Any]) -> MarkerError:
    error = kind.__new__(kind, *args)
    error.__dict__.update(own)
    return error


@dataclass(frozen=True)
class Fault:
    """One thing wrong in what was given: where it stands, what it is, how to correct it.

    place : for a person, 'job.toml:14: piece 1 (front), width'. file, line : the same for a
        program; "" and 0 where it stands in no file, or on no single line.
    """

    place: str
    problem: str
    remedy: str
    file: str = ""
    line: int = 0

    def __str__(self) -> str:
        return f"{self.place}: {self.problem}. {self.remedy}."


class FaultyInput(MarkerError, ValueError):
    """A file or an option is wrong (exit code 2). Carries every fault found, not the first."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class Part(Enum):
    """What a job file says in tables of their own, each with a name. A strip is a piece, too, and
    so is one derived from another."""

    CLOTH = "cloth"
    PIECE = "piece"
    MATCH = "match"


class CannotBeDone(MarkerError, ValueError):
    """The job is well formed and cannot be carried out (exit code 1): why, and what would help.

    about : parts of the job file that it lies with, by name; who knows the file tells their places.
    """

    def __init__(self, said: str, about: Iterable[tuple[Part, str]] = ()) -> None:
        self.about = tuple(dict.fromkeys(about))
        super().__init__(said)


class StoppedEarly(MarkerError):
    """Stopped by hand before there was anything to keep (exit code 130)."""

    def __init__(self) -> None:
        super().__init__("stopped before there was a first layout; nothing was written")
