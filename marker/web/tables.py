"""The tables of a job, one for each cloth, and what is stored of them.

What lies on a table is written down after every step, with the steps before it: whatever ends the
page, the next one begins there, and undoes from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from functools import partial
from itertools import chain, groupby
from pathlib import Path
from threading import RLock

from marker.errors import CannotBeDone, MarkerError
from marker.files.digest import digest
from marker.job import Job
from marker.jobfile.stored import layout_of_job
from marker.layout import CheckedLayout
from marker.outputs.folders import cloth_starts, job_folder
from marker.outputs.layouts import KEPT, LayoutFolder, kept_at, kept_layouts, standing_files
from marker.outputs.steps import MOST_STEPS, Step, StepFolder, Steps
from marker.reports.kept import KeptFacts
from marker.web.shown import file_digest
from marker.web.tabletop import Arrangement, Earlier, Tabletop

Stamp = tuple[tuple[int, int], ...]
"""Of files: when each was written, and how long it is."""


class Tables:
    """The tables of a job as its file says now. outputs : the folder of all jobs' layouts."""

    def __init__(self, job: Job, job_path: Path, outputs: Path) -> None:
        self._job, self._job_path = job, job_path
        self._folder = job_folder(job.name, root=outputs)
        self._tables: dict[str, Tabletop] = {}
        self._files: dict[str, dict[Arrangement | Earlier, tuple[Path, ...]]] = {}
        self._seen: dict[str, Stamp] = {}
        self._storing = RLock()

    def of(self, cloth: str) -> Tabletop:
        """The table of a cloth. A layout that another program has stored meanwhile lies there now,
        and can be undone."""
        with self._storing:
            known = self._tables.get(cloth)
            if known is None:
                self._tables[cloth] = known = Tabletop(self._job, cloth)
                self._bring_back(known)
            elif self.has_changed(cloth):
                self._seen[cloth] = self._stamp(cloth)
                stored = self._standing(cloth)
                if stored:
                    known.put(Arrangement(stored))
            return known

    def has_changed(self, cloth: str) -> bool:
        """Whether another program has stored a layout of this cloth since it was looked at."""
        with self._storing:
            return cloth in self._seen and self._stamp(cloth) != self._seen[cloth]

    def store(self, table: Tabletop, *, keep: bool = False) -> None:
        """Let what lies on the table stand in the job's folder, with the steps that led there.

        keep : with the last layouts, too. A width that was only tried is not stored.
        """
        with self._storing:
            now = table.now
            if now.task is None and keep:
                self._layouts().store(now.laid, replace=True)
            elif now.task is None:
                self._layouts().stand(now.every)
            self._seen[table.cloth] = self._stamp(table.cloth)
            self._write_steps(table)

    def stand(self, table: Tabletop, better: Arrangement) -> None:
        """Let a layout stand that a search has found on its way, where it is the shortest."""
        with self._storing:
            if table.is_empty or better.length_mm < table.now.length_mm:
                self._layouts().stand(better.every)
                self._seen[table.cloth] = self._stamp(table.cloth)

    def kept(self, cloth: str) -> list[tuple[KeptFacts, ...]]:
        """The last layouts of a cloth that were searched for or put aside, the latest first; those
        on its remnants together."""
        (own,) = (each for each in self._job.cloths if each.name == cloth)
        names = {cloth, *(own.on(remnant).full_name for remnant in own.remnants)}
        every = [each for each in kept_layouts(self._folder) if each.cloth in names]
        return [tuple(group) for _, group in groupby(every, lambda each: kept_at(each.file))]

    def kept_one(self, name: str) -> Arrangement:
        """One of them by the name of its file."""
        path = self._folder / KEPT / name
        if path.parent.name != KEPT or not path.is_file():
            raise CannotBeDone("there is no such layout any more.")
        return Arrangement(self._read(path))

    def _layouts(self) -> LayoutFolder:
        return LayoutFolder(self._folder, self._job, self._job_path)

    def _stamp(self, cloth: str) -> Stamp:
        """When each layout that stands was written, and how long its file is."""
        with suppress(OSError):
            found = [path.stat() for path in self._standing_files(cloth)]
            return tuple((each.st_mtime_ns, each.st_size) for each in found)
        return ()

    def _standing_files(self, cloth: str) -> list[Path]:
        return standing_files(self._folder, self._job, cloth)

    def _digest(self, cloth: str) -> str:
        return digest(list(map(file_digest, self._standing_files(cloth))))

    def _standing(self, cloth: str) -> tuple[CheckedLayout, ...]:
        """The layouts that stand; none where the judge refuses them for the job as it is."""
        try:
            files = self._standing_files(cloth)
            return self._read(files[0]) if files else ()
        except MarkerError:
            return ()

    def _read(self, path: Path) -> tuple[CheckedLayout, ...]:
        return layout_of_job(path, self._job).checked_together()

    # -- steps

    def _steps(self, cloth: str) -> StepFolder:
        return StepFolder(self._folder, cloth_starts(self._job).get(cloth, ""))

    def _bring_back(self, table: Tabletop) -> None:
        """Begin with the layout that stands, and with the steps that led to it."""
        cloth = table.cloth
        self._seen[cloth], self._files[cloth] = self._stamp(cloth), {}
        stored = self._standing(cloth)
        if not stored:
            return
        steps = self._steps(cloth).read()
        past: list[Arrangement | Earlier] = [
            Earlier(each.pinned, partial(self._read, each.paths[0])) for each in steps.every
        ]
        if steps.every and steps.stands == self._digest(cloth):
            past[steps.at] = Arrangement(stored, steps.every[steps.at].pinned)
        else:  # another program has stored it since
            past = past[: steps.at + 1]
        self._files[cloth] = {
            each: step.paths for each, step in zip(past, steps.every, strict=False)
        }
        table.past, table.at = past, steps.at
        if not past or isinstance(past[table.at], Earlier):
            table.put(Arrangement(stored))

    def _write_steps(self, table: Tabletop) -> None:
        """The last of the steps up to what lies there, and those that were undone."""
        folder, known = self._steps(table.cloth), self._files[table.cloth]
        past = [each for each in table.past if isinstance(each, Earlier) or each.task is None]
        before = sum(each in past for each in table.past[: table.at + 1])
        past = past[max(0, before - MOST_STEPS) :]
        files = {k: known[k] for k in past if k in known}
        new: list[tuple[Sequence[Path], Sequence[CheckedLayout]]] = []
        for each in past:
            if isinstance(each, Arrangement) and each not in files:
                taken = chain.from_iterable(files.values())
                files[each] = folder.free_paths(taken, len(each.every))
                new.append((files[each], each.every))
        self._files[table.cloth] = files
        steps = tuple(Step(files[each], each.pinned) for each in past)
        at = min(before, MOST_STEPS) - 1
        told = Steps(steps, at, self._digest(table.cloth))
        folder.write(told, new, self._job, self._job_path)
