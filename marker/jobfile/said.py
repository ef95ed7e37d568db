"""What a job file and the files that it names say, as a short name that outlasts the program."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from marker.files.digest import digest
from marker.jobfile.sizes import BY_SIZE, SIZE

_CHANGE_NO_LAYOUT = {"show", "blade_reach", "version", "dated", "notions", "notes", "reader"}
_OF_CLOTH_NEITHER = {"colour", "thickness"}


def said_in(raw: Mapping[str, Any], folder: Path) -> str:
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
