"""Reading a job file: every fault in it is found before one complaint is made."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from marker.cloth.fabric import Cloth
from marker.errors import MarkerError, Part
from marker.files.digest import digest
from marker.files.faults import FaultList, Unusable
from marker.files.reading import Kind, is_file, kind_of, plain_path, read_text
from marker.files.toml import read_toml
from marker.files.wording import validated
from marker.job import Job, Making
from marker.jobfile.as_written import (
    bare_unit,
    check_counts,
    cloth_names,
    in_its_own_spelling,
    places_of,
    tables,
    twice,
)
from marker.jobfile.cloth_table import ClothTable
from marker.jobfile.cloths import cloth_from
from marker.jobfile.job_table import JobTable
from marker.jobfile.patterns import patterns_from
from marker.jobfile.sizes import BY_SIZE, SIZE, check_sizes
from marker.pattern.bands.strip import interfacing_name
from marker.units import Show, Systems, show_for, show_lengths
from marker.words import spelled_as

MOST_GARMENTS = 2000


def read_job(path: Path, text: str | None = None, curves_mm: float = math.inf) -> Job:
    """The job in a file; raises FaultyInput with every fault, each with its place and remedy.

    text : what the file is to hold, to be checked before it is written; None for what it holds.
    curves_mm : no chord of an outline strays further from its curve, whatever `flatten` allows.
    """
    faults = FaultList(path)
    raw: dict[str, Any] = {}
    with faults.gathering(""):
        if text is None:
            _demand_job(path)
        raw = read_toml(faults, text)
    faults.raise_any()
    check_counts(raw, faults)
    faults.raise_any()
    show = _show(raw)
    with show_lengths(show):
        return _read_tables(path, raw, show, curves_mm, faults)


def places_in(path: Path, about: Sequence[tuple[Part, str]]) -> tuple[str, ...]:
    """Where a job file says these parts of the job: 'job.toml:27: match 1 (side)'; none of those
    that it says no more."""
    faults, spelled = FaultList(path), FaultList(path)
    with suppress(MarkerError):
        raw = in_its_own_spelling(read_toml(faults), spelled)
        for place in places_of(about, raw):
            faults.add(place, "", "")
    return tuple(fault.place for fault in faults.found)


def _show(raw: Mapping[str, Any]) -> Show:
    """How lengths are written for a job, also where it is found faulty."""
    units, wish = raw.get("units"), spelled_as(str(raw.get("show")), Systems)
    written = [f"1 {units}"] if isinstance(units, str) else list(_texts(raw))
    return show_for(Systems(wish or Systems.BOTH), written)


def _read_tables(
    path: Path, written: dict[str, Any], show: Show, curves_mm: float, faults: FaultList
) -> Job:
    raw = in_its_own_spelling(written, faults)
    top = validated(JobTable, raw, faults)
    check_sizes(raw, faults)
    unit = bare_unit(raw)
    cloths = _cloths(raw, unit, faults)
    patterns = patterns_from(raw, path.parent, unit, cloths, faults, curves_mm)
    _check_names(raw, faults)
    if top is not None:
        _check_order(top, faults)
    faults.raise_any()
    assert top is not None  # or it had noted a fault
    return Job(
        top.name,
        top.size,
        tuple(patterns.values()),
        cloths,
        dict(top.order),
        show,
        top.blade_reach,
        making=_making(top),
        said=_said_in(raw, path.parent),
    )


def _making(top: JobTable) -> Making:
    return Making(top.version, top.dated, tuple(top.notions), tuple(top.notes), top.reader)


def _texts(value: Any) -> Iterator[str]:
    """Every text that stands in a table, tables within it included."""
    if isinstance(value, str):
        yield value
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for each in value:
            yield from _texts(each)


_SUCH = "Give the job file, such as job.toml"


def _demand_job(path: Path) -> None:
    """Raise Unusable for a file that people take for a job, or give in its place."""
    inside = path / "job.toml"
    if is_file(inside):
        raise Unusable("this is a folder, not a job", f"Give the job in it, {inside}")
    kind = kind_of(path)
    if kind is Kind.JSON:
        job = _job_of(path)
        what = "a layout" if job else "a JSON file"
        remedy = f"Give the job it was made from, {job}" if job else _SUCH
        raise Unusable(f"this is {what}, not a job", remedy)
    if kind in (Kind.SVG, Kind.DXF, Kind.PDF):
        raise Unusable(
            f"this is a drawing ({kind.name}), not a job",
            f"Make a job of it first: marker import {path.name} --out FOLDER",
        )
    if kind is Kind.PICTURE:
        raise Unusable("this is a picture, not a job", _SUCH)


def _job_of(path: Path) -> str:
    """Where a layout says that its job is, for a remedy; '' of what is none."""
    try:
        job = json.loads(read_text(path))["job"]
    except (Unusable, ValueError, RecursionError, LookupError, TypeError):
        return ""
    if isinstance(job, str) and job.isprintable():
        return str(plain_path(path.parent / job))
    return ""


def _cloths(raw: Mapping[str, Any], unit: float | None, faults: FaultList) -> tuple[Cloth, ...]:
    cloths: list[Cloth] = []
    for name in cloth_names(raw):
        place = faults.under(f"cloth.{name[:60]}")
        if not isinstance(raw["cloth"][name], dict):
            continue  # the top of the file has noted it
        table = validated(ClothTable, raw["cloth"][name], place, unit)
        if table is not None:
            cloths.append(cloth_from(name.strip(), table, place))
    return tuple(cloths)


def _check_names(raw: Mapping[str, Any], faults: FaultList) -> None:
    """Pieces and strips share their names, and there must be at least one of them."""
    stiffened = [
        (place, {"name": interfacing_name(str(table.get("name")))})
        for place, table in tables(raw, "strip")
        if "interfacing" in table
    ]
    kinds = ("piece", "derived", "strip")
    named = [*(each for kind in kinds for each in tables(raw, kind)), *stiffened]
    _check_unique("pieces or strips", named, faults)
    _check_unique("seams", tables(raw, "seam"), faults)
    _check_unique("openings", tables(raw, "opening"), faults)
    _check_unique("girths", tables(raw, "girth"), faults)
    _check_unique("matches", tables(raw, "match"), faults)
    if not raw.get("piece") and not raw.get("strip"):
        faults.add("", "there is no piece to cut", "Add a [[piece]] or a [[strip]]")


def _check_unique(what: str, tables: list[tuple[str, dict[str, Any]]], faults: FaultList) -> None:
    for name, (_, *others) in twice(tables).items():
        faults.under(others[0]).add(
            "name",
            f"{len(others) + 1} {what} are called '{name}'",
            "Give each of them a name of its own",
        )


def _check_order(top: JobTable, faults: FaultList) -> None:
    sizes = top.sizes or [top.size]
    for size in top.order:
        if size in sizes:
            continue
        with faults.gathering(f"order.{size}"):
            if len(sizes) > 1:
                raise Unusable.unknown("size", size, sizes)
            raise Unusable(
                f"the pattern is drawn in size '{top.size}' only",
                f"Order size '{top.size}'",
            )
    if sum(top.order.values()) > MOST_GARMENTS:
        faults.add(
            "order",
            f"{sum(top.order.values())} garments are more than {MOST_GARMENTS}",
            "Plan a large order as several jobs",
        )


_CHANGE_NO_LAYOUT = {"show", "blade_reach", "version", "dated", "notions", "notes", "reader"}
_OF_CLOTH_NEITHER = {"colour", "thickness"}


def _said_in(raw: Mapping[str, Any], folder: Path) -> str:
    """A short name for what a job says, but for its order and for what changes no layout.

    It rests on nothing that the program makes of the files, so it lasts when that learns more.
    Keys may stand in any order; but the first cloth is the main one. A drawing counts byte by byte.

    raw : the tables, without faults. folder : where the files lie.
    """
    left_out = {*_CHANGE_NO_LAYOUT, "order"}
    kept = {key: value for key, value in raw.items() if key not in left_out}
    kept["cloth"] = {
        name: {key: value for key, value in cloth.items() if key not in _OF_CLOTH_NEITHER}
        for name, cloth in raw.get("cloth", {}).items()
    }
    sizes = raw.get("sizes") or [raw.get("size")]
    files = sorted({name.replace(SIZE, str(size)) for name in _files_in(raw) for size in sizes})
    return digest((_plain(kept), list(kept["cloth"]), [(f, _held(folder / f)) for f in files]))


def _plain(value: Any) -> Any:
    """A value of TOML with its keys in order, and one kind of number."""
    if isinstance(value, Mapping):
        return [(str(key), _plain(value[key])) for key in sorted(value, key=str)]
    if isinstance(value, list):
        return [_plain(each) for each in value]
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    return value if isinstance(value, bool) else str(value)


def _files_in(raw: Mapping[str, Any]) -> Iterator[str]:
    """Names of the drawings and the file of rules that the tables name."""
    if isinstance(raw.get("rules"), str):
        yield raw["rules"]
    cloths = raw.get("cloth", {}).values()
    remnants = (remnant for cloth in cloths for remnant in cloth.get("remnant", []))
    for table in (*raw.get("piece", []), *remnants):
        drawing = table.get("drawing", "")
        given = drawing.get(BY_SIZE, {}).values() if isinstance(drawing, dict) else [drawing]
        yield from (name for text in given if (name := str(text).rpartition("#")[0]))


def _held(path: Path) -> str:
    """A name for what a file holds; '' for one that is gone again."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
