"""Finding and reading the instance files of a folder."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from marker.errors import Fault, FaultyInput
from marker.files.budget import Most
from marker.files.faults import FaultList, nearest
from marker.files.reading import read_text
from tests.benchmarks.instance import Instance, restricted
from tests.benchmarks.instance_json import read_json
from tests.benchmarks.instance_xml import read_xml

ROOT = Path(__file__).parents[2]
_READERS = {".json": read_json, ".xml": read_xml}


def default_folder() -> Path:
    """Where the instances are unless one says otherwise."""
    return Path(os.environ.get("MARKER_INSTANCES", ROOT.parent / "shared" / "instances"))


def read_instance(path: Path, turns: Sequence[float] | None = None) -> Instance:
    """One instance of either form, restricted to `turns` if given; raises FaultyInput."""
    faults = FaultList(path)
    text = ""
    with faults.gathering(""):
        text = read_text(path, Most.LAYOUT_BYTES)
    faults.raise_any()
    instance = _READERS[path.suffix](path, text)
    ids = [piece.id for piece in instance.pieces]
    for twice in sorted({each for each in ids if ids.count(each) > 1}):
        faults.add(f"piece {twice}", "there are two of this id", "Give each an id of its own")
    faults.raise_any()
    return instance if turns is None else restricted(instance, turns, faults)


def instance_files(folder: Path, names: Sequence[str] | None) -> list[Path]:
    """The files of the instances named, in that order, or all of the folder by name.

    Raises FaultyInput for a name that no file has or that two have.
    """
    if not folder.is_dir():
        raise FaultyInput(
            [Fault(str(folder), "there is no such folder", "Set --instances or MARKER_INSTANCES")]
        )
    found = sorted(path for path in folder.iterdir() if path.suffix in _READERS)
    stems = [path.stem for path in found]
    faults = FaultList(folder)
    for name in names or stems:
        if name not in stems:
            faults.add("", f"there is no instance '{name}' (.json or .xml)", nearest(name, stems))
        elif stems.count(name) > 1:
            faults.add("", f"there are two files called '{name}'", "Keep one of them here")
    if not found:
        faults.add("", "there are no instances (.json or .xml)", "Name another folder")
    faults.raise_any()
    return [found[stems.index(name)] for name in names or stems]
