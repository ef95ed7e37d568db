"""A change to a job that may save cloth."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.pattern.piece import Piece
from marker.pattern.strip import Strip

Part = TypeVar("Part", Cloth, Piece, Strip)


@dataclass(frozen=True)
class Change:
    """One thing to give way on.

    what : in words, to be read after 'if you'. edit : what to write in the job file for it.
    relaxes : each layout without it is one with it, so that it never costs cloth.
    """

    what: str
    edit: str
    apply: Callable[[Job], Job]
    relaxes: bool = False


def with_cloth(job: Job, name: str, **changes: Any) -> Job:
    """The job with some properties of one cloth changed."""
    return replace(job, cloths=tuple(_changed(job.cloths, {name}, changes)))


def with_pieces(job: Job, names: Iterable[str], **changes: Any) -> Job:
    """The job with some properties of some pieces changed."""
    return replace(job, pieces=tuple(_changed(job.pieces, set(names), changes)))


def with_strip(job: Job, name: str, **changes: Any) -> Job:
    """The job with some properties of one strip changed."""
    return replace(job, strips=tuple(_changed(job.strips, {name}, changes)))


def _changed(parts: Iterable[Part], names: set[str], changes: dict[str, Any]) -> list[Part]:
    return [replace(part, **changes) if part.name in names else part for part in parts]
