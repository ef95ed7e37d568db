"""Pieces and cloths that a job file gains, and loses again where nothing needs them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.job import Job
from marker.jobfile.as_written import cloth_names, tables
from marker.jobfile.editing import JobText, Value
from marker.jobfile.reading import read_job
from marker.jobfile.writing import USUAL_SELVAGE_MM
from marker.pattern.piece import Line
from marker.units import NotALength, System, exact_length, parse_length, shown

DRAWN, DERIVED, STRIP = "piece", "derived", "strip"
_IN_WORDS = {DERIVED: "derived piece", DRAWN: "piece"}
_MEASURES = ("width", "height")
_PLAIN = (str, int, float)
_OF_CLOTHS = ("cloth", "interfacing")


@dataclass(frozen=True)
class Rectangle:
    """A rectangle as a person tells it, each text as typed.

    length, width : of all of it. across : its length lies across the cloth, not along the grain.
    on_fold : half of it is drawn; the fold runs along the grain. finished : the allowance is added
    to the measures, and not within them.
    """

    length: str
    width: str
    allowance: str = ""
    across: bool = False
    on_fold: bool = False
    finished: bool = True

    def table(self) -> dict[str, Value]:
        """What a [[piece]] says of it, with its sides named as edges."""
        edges = {"bottom": [1, 2], "right": [2, 3], "top": [3, 4], "left": [4, 1]}
        length, width = self.length.strip(), self.width.strip()
        said: dict[str, Value] = {}
        if self.on_fold:
            said["fold"] = edges.pop("bottom" if self.across else "left")
            length, width = (_half(length), width) if self.across else (length, _half(width))
        shape = {"kind": "rectangle", "width": width, "height": length}
        said = {"shape": shape} | ({"grain": 0} if self.across else {}) | said
        if self.allowance.strip():
            line = {"line": Line.STITCHING.value} if self.finished else {}
            said |= line | {"allowance": self.allowance.strip()}
        return said | {"edges": edges}


def rectangles(job: JobText) -> dict[str, dict[str, str]]:
    """Name of each piece that is a rectangle -> its `width` and `height` as they are written, where
    they are the same in every size."""
    raw = tomllib.loads(job.text)
    shapes = [(table.get("name"), table.get("shape")) for _, table in tables(raw, DRAWN)]
    return {
        str(name): {key: _as_written(shape[key], raw) for key in _MEASURES}
        for name, shape in shapes
        if isinstance(shape, dict) and all(isinstance(shape.get(k), _PLAIN) for k in _MEASURES)
    }


def _as_written(value: str | float, raw: Mapping[str, Any]) -> str:
    """A length; a bare number has the unit of the file."""
    return value if isinstance(value, str) else f"{value:.10g} {raw.get('units', '')}"


def copies_told(text: object) -> int | str:
    """How many are cut, of what a person typed; a text that is no whole number stays, so that it is
    told as it was typed."""
    typed = str(text).strip()
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 10 else typed


def with_piece(job: JobText, table: Mapping[str, Value], kind: str = DRAWN) -> JobText:
    """The job with a piece more, behind the others of its kind; its text may have faults."""
    return job.set((kind, len(tables(tomllib.loads(job.text), kind))), table)


def with_value_of(job: JobText, piece: str, key: str, value: Value) -> JobText:
    """The job with a value of a piece or strip, such as its cloth, or a measure of a rectangle;
    raises CannotBeDone for one that has no table of its own."""
    place = ("shape", key) if key in _MEASURES else (key,)
    return job.set((_kind(tomllib.loads(job.text), piece), piece, *place), value)


def without_piece(job: JobText, piece: str) -> JobText:
    """The job without a piece or strip; raises CannotBeDone where something refers to it."""
    raw = tomllib.loads(job.text)
    kind = _kind(raw, piece)
    _demand_unused(piece, [said for said, table in _others(raw, piece) if _refers(table, piece)])
    if sum(len(tables(raw, each)) for each in (DRAWN, STRIP)) == 1:
        raise CannotBeDone(f"'{piece}' stays: a job needs a piece to cut. Add another one first.")
    return job.remove((kind, piece))


def without_seam(job: JobText, seam: str) -> JobText:
    """The job without a seam; its pieces stay."""
    if seam not in _names(tomllib.loads(job.text), "seam"):
        raise CannotBeDone(f"the seam '{seam}' follows from a change. Take that away instead.")
    return job.remove(("seam", seam))


def without_opening(job: JobText, opening: str) -> JobText:
    """The job without an opening; raises CannotBeDone where a band finishes it."""
    bands = [t for _, t in tables(tomllib.loads(job.text), STRIP) if t.get("finishes") == opening]
    _demand_unused(opening, [f"the strip '{band.get('name')}'" for band in bands])
    return job.remove(("opening", opening))


def with_cloth(job: JobText, name: str, width: str, nap: str) -> JobText:
    """The job with a cloth more, which is not the main one; its text may have faults. Raises
    FaultyInput for a name that another cloth has."""
    name = name.strip()
    if name in cloth_names(tomllib.loads(job.text)):
        problem, remedy = f"there is a cloth called '{name}' already", "Give it another name"
        raise FaultyInput([Fault(f"{job.path}: cloth", problem, remedy, str(job.path))])
    table = {"width": width.strip(), "selvage": f"{USUAL_SELVAGE_MM / 10:g} cm", "nap": nap}
    return job.set(("cloth", name), table)


def without_cloth(job: JobText, cloth: str) -> JobText:
    """The job without a cloth; raises CannotBeDone where something is cut from it."""
    now = read_job(job.path, job.text)
    if len(now.cloths) == 1:
        raise CannotBeDone(f"'{cloth}' stays: a job needs a cloth. Add another one first.")
    users = [f"'{name}'" for name in _cut_from(now, cloth)]
    if users:
        raise CannotBeDone(
            f"'{cloth}' stays: {_listed(users)} {'is' if len(users) == 1 else 'are'} cut from it. "
            f"Choose another cloth for {'it' if len(users) == 1 else 'them'} under Pattern first."
        )
    return job.remove(("cloth", cloth))


def _demand_unused(name: str, users: list[str]) -> None:
    if users:
        first = "Take that out first" if len(users) == 1 else "Take those out first"
        raise CannotBeDone(f"'{name}' stays: it is needed for {_listed(users)}. {first}.")


def _names(raw: Mapping[str, Any], kind: str) -> list[str]:
    return [str(table.get("name")) for _, table in tables(raw, kind)]


def _cut_from(job: Job, cloth: str) -> list[str]:
    """The pieces and strips of a cloth in any size, and the strips that it stiffens."""
    found: dict[str, None] = {}
    for pattern in job.patterns:
        found |= dict.fromkeys(each.name for each in pattern.pieces if each.cloth == cloth)
        found |= dict.fromkeys(each.name for each in pattern.strips if cloth in each.cloths)
    return list(found)


def _half(text: str) -> str:
    """Half of a length; a text that is none stays, to be told as it was typed."""
    try:
        mm = parse_length(text) / 2
    except NotALength:
        return text
    if shown().lead is System.IMPERIAL:
        return exact_length(mm, System.IMPERIAL)
    return f"{mm / 10:.10g} cm"


def _kind(raw: Mapping[str, Any], piece: str) -> str:
    """The list that has the table of a piece."""
    for kind in (DRAWN, DERIVED, STRIP):
        if piece in _names(raw, kind):
            return kind
    for _, change in tables(raw, "change"):
        if isinstance(change.get("split"), list) and piece in change["split"]:
            raise CannotBeDone(
                f"'{piece}' is a part of '{change.get('piece')}', which a change cuts in two. Take "
                "that change away first."
            )
    raise CannotBeDone(f"'{piece}' has no table of its own in the job file.")


def _listed(words: list[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def _others(raw: Mapping[str, Any], piece: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every table of a list but the piece's own, with what it is called in a sentence."""
    for kind in raw:
        for number, (_, table) in enumerate(tables(raw, kind), 1):
            own = table.get("name")
            if kind not in (DRAWN, DERIVED, STRIP) or own != piece:
                said = f"'{own}'" if own else str(number)
                yield f"the {_IN_WORDS.get(kind, kind)} {said}", table


def _refers(value: Any, piece: str) -> bool:
    """Whether a value names a piece or an edge of it; a cloth may be called like a piece."""
    if isinstance(value, Mapping):
        own = ("name", *_OF_CLOTHS)
        return any(_refers(each, piece) for key, each in value.items() if key not in own)
    if isinstance(value, list):
        return any(_refers(each, piece) for each in value)
    return isinstance(value, str) and (value == piece or value.startswith(f"{piece}."))
