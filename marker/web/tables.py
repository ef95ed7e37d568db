"""The tables of a job, one for each cloth, and what is stored of them.

What lies on a table is written down after every step, with the steps before it: whatever ends the
page, the next one begins there, and undoes from there.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from threading import RLock

from marker.errors import CannotBeDone, MarkerError
from marker.job import Job
from marker.jobfile.stored import layout_of_job
from marker.layout import CheckedLayout
from marker.outputs.folders import job_folder
from marker.outputs.kept import kept_layouts
from marker.outputs.layouts import KEPT, LAYOUT, LayoutFolder, cloth_starts
from marker.outputs.steps import MOST_STEPS, Step, StepFolder, Steps
from marker.reports.kept import KeptFacts
from marker.web.shown import file_digest
from marker.web.tabletop import Arrangement, Earlier, Tabletop


class Tables:
    """The tables of a job as its file says now. outputs : the folder of all jobs' layouts."""

    def __init__(self, job: Job, job_path: Path, outputs: Path) -> None:
        self._job, self._job_path = job, job_path
        self._folder = job_folder(job.name, root=outputs)
        self._tables: dict[str, Tabletop] = {}
        self._files: dict[str, dict[Arrangement | Earlier, Path]] = {}
        self._seen: dict[str, tuple[int, int]] = {}
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
                if stored is not None:
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
                self._layouts().store([now.laid], replace=True)
            elif now.task is None:
                self._layouts().stand(now.checked)
            self._seen[table.cloth] = self._stamp(table.cloth)
            self._write_steps(table)

    def stand(self, table: Tabletop, better: CheckedLayout) -> None:
        """Let a layout stand that a search has found on its way, where it is the shortest."""
        with self._storing:
            length = better.layout.length_mm
            if table.is_empty or length < table.now.length_mm:
                self._layouts().stand(better)
                self._seen[table.cloth] = self._stamp(table.cloth)

    def kept(self, cloth: str) -> list[KeptFacts]:
        """The last layouts of a cloth that were searched for or put aside, the latest first."""
        return [each for each in kept_layouts(self._folder) if each.cloth == cloth]

    def kept_one(self, name: str) -> Arrangement:
        """One of them by the name of its file."""
        path = self._folder / KEPT / name
        if path.parent.name != KEPT or not path.is_file():
            raise CannotBeDone("there is no such layout any more.")
        return Arrangement(self._read(path))

    def _layouts(self) -> LayoutFolder:
        return LayoutFolder(self._folder, self._job, self._job_path)

    def _path(self, cloth: str) -> Path:
        return self._folder / f"{cloth_starts(self._job).get(cloth, '')}{LAYOUT}"

    def _stamp(self, cloth: str) -> tuple[int, int]:
        """When the layout that stands was written, and how long its file is; zeros for none."""
        try:
            found = self._path(cloth).stat()
        except OSError:
            return 0, 0
        return found.st_mtime_ns, found.st_size

    def _digest(self, cloth: str) -> str:
        path = self._path(cloth)
        return file_digest(path) if path.is_file() else ""

    def _standing(self, cloth: str) -> CheckedLayout | None:
        """The layout that stands; none where the judge refuses it for the job as it is."""
        try:
            return self._read(self._path(cloth)) if self._path(cloth).is_file() else None
        except MarkerError:
            return None

    def _read(self, path: Path) -> CheckedLayout:
        return layout_of_job(path, self._job).checked()

    # -- steps

    def _steps(self, cloth: str) -> StepFolder:
        return StepFolder(self._folder, cloth_starts(self._job).get(cloth, ""))

    def _bring_back(self, table: Tabletop) -> None:
        """Begin with the layout that stands, and with the steps that led to it."""
        cloth = table.cloth
        self._seen[cloth], self._files[cloth] = self._stamp(cloth), {}
        stored = self._standing(cloth)
        if stored is None:
            return
        steps = self._steps(cloth).read()
        past: list[Arrangement | Earlier] = [
            Earlier(each.pinned, partial(self._read, each.path)) for each in steps.every
        ]
        if steps.every and steps.stands == self._digest(cloth):
            past[steps.at] = Arrangement(stored, steps.every[steps.at].pinned)
        else:  # another program has stored it since
            past = past[: steps.at + 1]
        self._files[cloth] = {
            each: step.path for each, step in zip(past, steps.every, strict=False)
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
        files: dict[Arrangement | Earlier, Path] = {k: known[k] for k in past if k in known}
        new: list[tuple[Path, CheckedLayout]] = []
        for each in past:
            if isinstance(each, Arrangement) and each not in files:
                files[each] = folder.free_path(files.values())
                new.append((files[each], each.checked))
        self._files[table.cloth] = files
        steps = tuple(Step(files[each], each.pinned) for each in past)
        at = min(before, MOST_STEPS) - 1
        told = Steps(steps, at, self._digest(table.cloth))
        folder.write(told, new, self._job, self._job_path)
