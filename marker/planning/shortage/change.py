"""A change to a job that may save cloth."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.pattern.bands.strip import Strip
from marker.pattern.piece import Piece

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
    return replace(job, cloths=tuple(_changed(cloth, {name}, changes) for cloth in job.cloths))


def with_pieces(job: Job, names: Iterable[str], **changes: Any) -> Job:
    """The job with some properties of some pieces changed, in every size."""
    chosen = set(names)
    return job.with_pieces(lambda piece: _changed(piece, chosen, changes))


def with_strip(job: Job, name: str, **changes: Any) -> Job:
    """The job with some properties of one strip changed, in every size."""
    return job.with_strips(lambda strip: _changed(strip, {name}, changes))


def _changed(part: Part, names: set[str], changes: dict[str, Any]) -> Part:
    return replace(part, **changes) if part.name in names else part
