"""The layouts of a job in its folder: the shortest stands, the last ones are kept, each is drawn.

A layout is written before anything is drawn of it, so that neither a full disk nor an impatient
hand costs the search.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from marker.errors import Fault, FaultyInput, MarkerError
from marker.exchange.layout_json import StoredLayout, layout_text, read_layout
from marker.exchange.layout_tables import LayoutTable
from marker.files.own_files import OwnFiles
from marker.files.reading import is_file, is_there
from marker.files.writing import output_folder, prepare_folder
from marker.job import Job, Reader
from marker.jobfile.stored import layout_of_job
from marker.layout import CheckedLayout, Placement
from marker.layout.bought import purchase_for
from marker.outputs.folders import (
    LAYOUT,
    cloth_starts,
    files_of_layout,
    layout_starts,
    remnant_starts,
)
from marker.planning.laid_cloth import LaidCloth, laid_cloth
from marker.reports.kept import KeptFacts, kept_facts
from marker.tolerances import HAIR_MM

BY = "lay"
KEPT = "layouts"
MOST_KEPT = 10
"""Layouts of one cloth that are kept."""

_SURE = (LAYOUT, "diagram.pdf", "diagram.svg", "diagram.png", "cutting-sheet.html",
         "cutting-sheet.pdf")  # fmt: skip
"""What is written of nearly every layout; a drawing of many pages has others besides."""

_RESCUED = "marker-layout-"
"""What the names of temporary folders begin with that took a layout."""

_ROUNDED = 1e-3
"""Less than this is lost where a layout is stored."""

_STAMP = r"\d{8}-\d{6}-\d{6}\.json"
_STAMP_LENGTH = len("20260101-120000-000000")


@dataclass(frozen=True)
class StandingLayout:
    """What stands in the folder for one cloth, or one remnant.

    path : its layout file. kept : where the new layout is kept, too. longer : the new layout, where
    the one that stood before is shorter and still stands.
    """

    laid: LaidCloth
    table: LayoutTable
    path: Path
    kept: Path
    longer: LaidCloth | None = None


class LayoutFolder:
    """The folder of a job, made if need be; raises FaultyInput where it can't be written to."""

    def __init__(self, folder: Path, job: Job, job_path: Path) -> None:
        prepare_folder(folder)
        self.folder, self._job, self.job_path = folder, job, job_path
        self._own = OwnFiles(folder)

    @property
    def reader(self) -> Reader:
        """Whom the job's layouts are told to."""
        return self._job.making.reader

    def demand_own(self) -> None:
        """Raise FaultyInput before a search where it would end at a person's file."""
        names = [f"{start}{name}" for start in cloth_starts(self._job).values() for name in _SURE]
        self._own.demand_own(names, BY)

    def store(
        self, laid: Sequence[LaidCloth], *, replace: bool, any_spread: bool = False
    ) -> list[StandingLayout]:
        """Keep every new layout, and let it stand where no shorter one of the same job and cloth
        does.

        laid : of all cloths of the job, or of one. replace : let it stand in any case.
        any_spread : compare it with layouts on cloth that is spread in another way, too.
        """
        starts = layout_starts(self._job, [each.checked.layout.cloth for each in laid])
        kept = self._keep(laid, starts)
        files = [f"{start}{LAYOUT}" for start in starts]
        standing = []
        for each, start, path in zip(laid, starts, kept, strict=True):
            before = None if replace else self._shorter(each, start, any_spread)
            now = before or each
            table = self._table(now, _together(each.checked, [one.checked for one in laid], files))
            longer = None if before is None else each
            standing.append(
                StandingLayout(now, table, self.folder / f"{start}{LAYOUT}", path, longer)
            )
        new = [each for each in standing if each.longer is None]
        texts = {each.path.name: self._text(each.table, each.path) for each in new}
        gone = self._stale([each.laid.checked for each in new], [each.path.name for each in new])
        self._own.replace(texts, BY, gone=gone, name=self._job.name)
        return standing

    def rescue(self, laid: Sequence[LaidCloth]) -> list[Path]:
        """Keep new layouts that this folder can't take in one of the system's temporary folders;
        their files there. Raises OSError or FaultyInput."""
        folder = Path(tempfile.mkdtemp(prefix=_RESCUED))
        there = LayoutFolder(folder, self._job, self.job_path)
        return [each.path for each in there.store(laid, replace=True)]

    def stand(self, every: Sequence[CheckedLayout]) -> None:
        """Let the layout of one cloth stand, or those on its remnants, whatever stood there; they
        are not kept with the others. Made for one step by hand after another: what is left over is
        not worked out."""
        starts = layout_starts(self._job, [each.layout.cloth for each in every])
        paths = [self.folder / f"{start}{LAYOUT}" for start in starts]
        names = [path.name for path in paths]
        texts = {}
        for checked, path in zip(every, paths, strict=True):
            table = LayoutTable.of(checked, purchase_for(checked))
            others = _together(checked, every, names)
            texts[path.name] = self._text(table.with_others(others), path)
        self._own.replace(texts, BY, gone=self._stale(every, names), name=self._job.name)

    def _stale(self, every: Sequence[CheckedLayout], names: Sequence[str]) -> list[str]:
        """Our own files that new layouts make untrue: of those before, and of remnants that have no
        pieces any more."""
        starts = {name.removesuffix(LAYOUT) for name in names}
        for checked in every:
            starts |= set(remnant_starts(self._job, checked.layout.cloth.name))
        return [name for start in sorted(starts) for name in self._written(start)]

    def _written(self, start: str) -> list[str]:
        """Our own files of one layout, by what their names begin with."""
        return self._own.there(files_of_layout(start).fullmatch)

    def drawings(self, standing: Sequence[StandingLayout]) -> list[dict[str, bytes]]:
        """File name -> contents of all that is drawn of each layout. Nothing is written."""
        from marker.drawing.layout_files import drawn_files  # who lists layouts draws none

        return [
            {
                f"{each.path.name.removesuffix(LAYOUT)}{name}": content
                for name, content in drawn_files(each.laid, self._job).items()
            }
            for each in standing
        ]

    def put(
        self, standing: Sequence[StandingLayout], drawings: Sequence[dict[str, bytes]]
    ) -> list[tuple[Path, ...]]:
        """Write the drawings of what stands; for each layout all its files, the layout first.

        Earlier drawings of other pages go: nobody should cut by one of them. Raises FaultyInput
        where another command has let another layout stand meanwhile.
        """
        stale = [
            name
            for each in standing
            for name in self._written(each.path.name.removesuffix(LAYOUT))
            if name != each.path.name
        ]
        contents = {name: content for each in drawings for name, content in each.items()}
        self._own.replace(contents, BY, gone=stale, demand=partial(_demand_stands, standing))
        return [
            (each.path, *(self.folder / name for name in drawn))
            for each, drawn in zip(standing, drawings, strict=True)
        ]

    def _keep(self, laid: Sequence[LaidCloth], starts: Sequence[str]) -> list[Path]:
        """Write the new layouts beside the last ones, each once; the path of each."""
        with output_folder(self.folder / KEPT) as folder:
            own, every = OwnFiles(folder), [each.checked for each in laid]
            stamp = _stamp()
            names = [
                self._known(each, own, start) or f"{start}{stamp}.json"
                for each, start in zip(laid, starts, strict=True)
            ]
            contents = {
                name: self._text(
                    self._table(each, _together(each.checked, every, names)), folder / name
                )
                for each, name in zip(laid, names, strict=True)
                if stamp in name
            }
            gone = [name for start in starts for name in self._outdated(own, start) if contents]
            own.replace(contents, BY, gone=gone, name=self._job.name)
            return [folder / name for name in names]

    def _outdated(self, own: OwnFiles, start: str) -> list[str]:
        """The oldest layouts kept of a cloth that make room for one more, but never the shortest of
        the job as it is."""
        names = _kept_names(own, start)
        if len(names) < MOST_KEPT:
            return []
        lengths = {}
        for name in names:
            with suppress(MarkerError):
                stored = read_layout(own.folder / name)
                if stored.made_from(self._job):
                    lengths[name] = stored.length_mm
        shortest = min(lengths, key=lengths.__getitem__, default="")
        return [name for name in names if name != shortest][: len(names) + 1 - MOST_KEPT]

    def _known(self, new: LaidCloth, own: OwnFiles, start: str) -> str | None:
        """The file that holds this layout already; none for a remnant's, which lie together."""
        layout = new.checked.layout
        if layout.cloth.remnant is not None:
            return None
        for name in _kept_names(own, start):
            try:
                stored = read_layout(own.folder / name)
            except MarkerError:
                continue
            if same_places(stored.placements, layout.placements):
                return name if stored.made_from(self._job) else None
        return None

    def _shorter(self, new: LaidCloth, start: str, any_spread: bool) -> LaidCloth | None:
        """The layout that stands, where it lays the same on less cloth. Of another job file it does
        not count, whatever name that gives its job."""
        name = f"{start}{LAYOUT}"
        if new.checked.layout.cloth.remnant or not self._own.is_own(name, BY):
            return None
        try:
            found = layout_of_job(self.folder / name, self._job)
            before = found.checked()
        except MarkerError:
            return None
        one, other = before.layout, new.checked.layout
        same = not found.changed and one.job_name == self._job.name
        same = same and found.job.order == self._job.order
        alike = any_spread or one.spread.spreading is other.spread.spreading
        if same and alike and one.length_mm < other.length_mm - HAIR_MM:
            return laid_cloth(before, new.tried)
        return None

    def _table(self, laid: LaidCloth, together: Sequence[str]) -> LayoutTable:
        table = LayoutTable.of(laid.checked, laid.purchase).on_hand(laid.fit, laid.leftovers)
        return table.with_others(together)

    def _text(self, table: LayoutTable, path: Path) -> str:
        return layout_text(table, path, self.job_path, self._job)


def _demand_stands(standing: Sequence[StandingLayout]) -> None:
    """Raise FaultyInput where a layout file holds another layout by now."""
    faults = [
        Fault(
            str(each.path),
            "another command has laid this anew meanwhile, and drawings would not be of that",
            f"Print or export this layout from {each.kept}",
        )
        for each in standing
        if not same_places(read_layout(each.path).placements, each.laid.checked.layout.placements)
    ]
    if faults:
        raise FaultyInput(faults)


def _kept_names(own: OwnFiles, start: str) -> list[str]:
    """The layouts kept of a cloth, the oldest first."""
    return own.there(re.compile(re.escape(start) + _STAMP).fullmatch)


def same_places(one: Sequence[Placement], other: Sequence[Placement]) -> bool:
    """Whether the same pieces lie in the same places, but for what a file rounds."""
    return len(one) == len(other) and all(
        a.key == b.key
        and a.mirrored == b.mirrored
        and max(abs(a.x_mm - b.x_mm), abs(a.y_mm - b.y_mm)) < _ROUNDED
        and abs(a.rotation_deg - b.rotation_deg) < _ROUNDED
        for a, b in zip(one, other, strict=True)
    )


def _stamp() -> str:
    """The time now, to the microsecond, as part of a file name: names are in order of time."""
    return datetime.now(UTC).strftime("%Y%m%d-%H%M%S-%f")


def _together(
    checked: CheckedLayout, every: Sequence[CheckedLayout], names: Sequence[str]
) -> list[str]:
    """Names of the layout files of all remnants of this cloth; none where it is no remnant."""
    cloth = checked.layout.cloth
    if cloth.remnant is None:
        return []
    return [
        name
        for each, name in zip(every, names, strict=True)
        if each.layout.cloth.name == cloth.name
    ]


def standing_files(folder: Path, job: Job, cloth: str) -> list[Path]:
    """The layout files that stand for a cloth in a job's folder: one, or one for each remnant with
    pieces; none where nothing does, or there is no such folder."""
    starts = [cloth_starts(job).get(cloth, ""), *remnant_starts(job, cloth)]
    paths = [folder / f"{start}{LAYOUT}" for start in starts]
    return [path for path in paths if is_file(path)]


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


def rescued_layouts(job_path: Path) -> tuple[KeptFacts, ...]:
    """Layouts of a job that no folder of its own could take, in temporary ones; the latest first.
    None of them stands."""
    found: list[Path] = []
    for folder in Path(tempfile.gettempdir()).glob(f"{_RESCUED}*/{KEPT}"):
        with suppress(OSError, MarkerError):  # one that nobody may read, or that holds no layout
            found += [path for path in folder.glob("*.json") if _is_of(path, job_path)]
    return tuple(_facts(path, ()) for path in sorted(found, key=kept_at, reverse=True))


def _is_of(path: Path, job_path: Path) -> bool:
    """Whether this is a layout of a job file, and our own: anyone may write to a temporary
    folder."""
    own = not hasattr(os, "getuid") or path.lstat().st_uid == os.getuid()
    return own and read_layout(path).job_path.resolve() == job_path.resolve()


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
