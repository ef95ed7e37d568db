"""The layouts of a job that are kept, each beside the job as it is now."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from marker.errors import MarkerError
from marker.exchange.layout_json import StoredLayout, read_layout
from marker.files.own_files import OwnFiles
from marker.files.reading import is_there
from marker.jobfile.stored import layout_of_job
from marker.outputs.layouts import BY, KEPT, LAYOUT, same_places
from marker.planning.laid_cloth import laid_cloth
from marker.reports.kept import KeptFacts, kept_facts

_STAMP_LENGTH = len("20260101-120000-000000")


def kept_layouts(folder: Path) -> tuple[KeptFacts, ...]:
    """All layouts kept in a job's folder, the latest first; none where there is no such folder.

    Raises FaultyInput for one that can't be read.
    """
    if not is_there(folder / KEPT):
        return ()
    own = OwnFiles(folder / KEPT)
    names = own.there(lambda name: name.endswith(".json") and own.is_own(name, BY))
    paths = [folder / KEPT / name for name in names]
    paths.sort(key=kept_at, reverse=True)
    stand = OwnFiles(folder)
    files = stand.there(lambda name: name.endswith(LAYOUT) and stand.is_own(name, BY))
    standing = [read_layout(folder / name) for name in files]
    return tuple(_facts(path, standing) for path in paths)


def kept_at(path: Path) -> str:
    """When a layout was kept, as its file's name says it; layouts that lie together share that."""
    return path.stem[-_STAMP_LENGTH:]


def _facts(path: Path, standing: Sequence[StoredLayout]) -> KeptFacts:
    stored = read_layout(path)
    stands = any(_same(stored, each) for each in standing)
    try:
        found = layout_of_job(path)
        if found.changed:
            return kept_facts(stored, stands, why_not=found.changed)
        return kept_facts(stored, stands, laid_cloth(found.checked()))
    except MarkerError as error:
        return kept_facts(stored, stands, why_not=str(error))


def _same(one: StoredLayout, other: StoredLayout) -> bool:
    """Whether two files lay the same pieces in the same places."""
    named = (one.job_name, one.cloth_name) == (other.job_name, other.cloth_name)
    return named and same_places(one.placements, other.placements)
