"""One job at work: its layouts on the table, what is searched for them, and what is done by hand.

A desk answers one request after another with plain values; a search runs beside it in a thread
and tells of each better layout. Only layouts that the judge has passed are shown.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from threading import Event
from typing import Any

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, MarkerError
from marker.exchange.layout_tables import LayoutTable
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.jobfile.stored import layout_of_job
from marker.layout import PieceKey
from marker.layout.ending import Ending
from marker.outputs.folders import job_folder
from marker.outputs.layouts import LAYOUT, LayoutFolder, cloth_starts
from marker.planning.events import BetterLayoutFound
from marker.planning.laid_cloth import LaidCloth, laid_cloth
from marker.planning.limits import SearchLimits
from marker.reports.facts import to_json
from marker.units import NotALength, metric, parse_length
from marker.web.downloads import download, full_size
from marker.web.pattern_picture import pattern_picture
from marker.web.pictures import drawn_pieces, layout_figures
from marker.web.process import Failure, Values
from marker.web.questions import Say, order_laid, widths_compared
from marker.web.tabletop import Arrangement, Tabletop
from marker.web.telling import SearchTeller

LONGEST_SECONDS = 3600.0

OPEN = "open"

Tell = Callable[[Values], None]
Question = Callable[[Job, Values, Event, Say], dict[str, Any]]


class WaitingDesk:
    """A desk whose process is ready before anyone opens a job: the first request, `open`, says
    which `path`, and in which folder `outputs` its layouts lie."""

    def __init__(self, tell: Tell, stop: Event) -> None:
        self._tell, self._stop = tell, stop
        self._desk: Desk | None = None

    def answer(self, what: str, body: Values) -> Values:
        """Do what is asked; raises MarkerError where it can't be done."""
        if what == OPEN:
            self._desk = Desk(Path(body["path"]), Path(body["outputs"]), self._tell, self._stop)
            return {}
        if self._desk is None:
            raise CannotBeDone("no job is open yet.")
        return self._desk.answer(what, body)


class Desk:
    """A job file opened. tell : hears of events. stop : set to end a search."""

    def __init__(self, path: Path, outputs: Path, tell: Tell, stop: Event) -> None:
        self._path, self._outputs = path, outputs
        self._tell, self._stop = tell, stop
        self._work: threading.Thread | None = None
        self._seen = ""
        self._job: Job | None = None
        self._cloth = ""
        self._tables: dict[str, Tabletop] = {}
        self._answers: dict[str, Callable[[Values], Values]] = {
            "job": self._job_facts,
            "desk": lambda _: self._desk(),
            "layout": lambda _: self._layout_json(),
            "findings": self._findings,
            "pattern": lambda body: pattern_picture(self.job, str(body.get("size", self.job.size))),
            "layout cloth": self._choose_cloth,
            "layout lay": self._lay,
            "layout slide": self._slide,
            "layout move": partial(
                self._change,
                lambda table, body: table.move(int(body["number"]), *map(float, body["by"])),
            ),
            "layout turn": partial(
                self._change, lambda table, body: table.turn(int(body["number"]))
            ),
            "layout swap": partial(
                self._change, lambda table, body: table.swap(*map(int, body["numbers"]))
            ),
            "layout pin": partial(
                self._change,
                lambda table, body: table.pin(map(int, body["numbers"]), bool(body["pinned"])),
            ),
            "layout undo": partial(self._change, lambda table, _: table.step(-1)),
            "layout redo": partial(self._change, lambda table, _: table.step(1)),
            "layout keep": partial(self._change, lambda table, _: table.keep()),
            "layout choose": partial(
                self._change, lambda table, body: table.show(int(body["kept"]))
            ),
            "pages": self._pages,
            "file": self._file,
            "questions widths": partial(self._ask, "widths", widths_compared),
            "questions order": partial(self._ask, "order", order_laid),
        }

    def answer(self, what: str, body: Values) -> Values:
        """Do what is asked; raises MarkerError where it can't be done."""
        if what not in self._answers:
            raise CannotBeDone(f"the page knows no '{what}'.")
        self._read_again_if_changed()
        return self._answers[what](body)

    @property
    def job(self) -> Job:
        """The job as its file says; raises FaultyInput with its faults."""
        if self._job is None:
            self._job = read_job(self._path)
            if self._cloth not in {cloth.name for cloth in self._job.cloths}:
                self._cloth = self._job.cloths[0].name
        return self._job

    def _read_again_if_changed(self) -> None:
        digest = _digest(self._path)
        if digest != self._seen:
            self._seen, self._job, self._tables = digest, None, {}

    @property
    def _table(self) -> Tabletop:
        """The table of the cloth that is shown; begins with the stored layout."""
        job = self.job  # reading it chooses the cloth
        cloth = self._cloth
        if cloth not in self._tables:
            self._tables[cloth] = table = Tabletop(job, cloth)
            stored = self._stored(cloth)
            if stored is not None:
                table.put(Arrangement(stored, table.task()))
        return self._tables[cloth]

    def _stored(self, cloth: str) -> LaidCloth | None:
        """The layout of a cloth as stored; none where the judge refuses it for the job as it is."""
        path = self._layout_path(cloth)
        if not path.is_file():
            return None
        try:
            return laid_cloth(layout_of_job(path, self.job).checked())
        except MarkerError:
            return None

    @property
    def _folder(self) -> Path:
        """Where the layouts of the job are stored; the commands use the same."""
        return job_folder(self.job.name, root=self._outputs)

    def _layout_path(self, cloth: str) -> Path:
        return self._folder / f"{cloth_starts(self.job).get(cloth, '')}{LAYOUT}"

    # -- what is asked

    def _job_facts(self, _body: Values) -> Values:
        job = self.job
        return {
            "name": job.name,
            "size": job.size,
            "sizes": list(job.sizes),
            "order": dict(job.order),
            "units": "metric",
            "cloths": [_cloth_facts(cloth) for cloth in job.cloths],
        }

    def _desk(self) -> dict[str, Any]:
        table = self._table
        shown: dict[str, Any] = {"layout": None, "pieces": [], "figures": None}
        return {
            "cloths": [cloth.name for cloth in self.job.cloths],
            "cloth": self._cloth,
            "units": "metric",
            "searching": self._working,
            "can_undo": table.can_undo,
            "can_redo": table.can_redo,
            "kept": [
                {
                    "id": number,
                    "length_mm": each.length_mm,
                    "buy_text": each.laid.purchase.as_dict()["buy_text_metric"],
                }
                for number, each in enumerate(table.kept)
            ],
        } | (shown if table.is_empty else _shown(table.now))

    def _layout_json(self) -> Values:
        laid = self._laid
        return LayoutTable.of(laid.checked, laid.purchase).as_json()

    def _findings(self, body: Values) -> Values:
        size = str(body.get("size", self.job.size))
        if size not in self.job.sizes:
            raise CannotBeDone(f"the job has no size '{size}'.")
        return {"findings": [to_json(found) for found in self.job.findings(size)]}

    def _choose_cloth(self, body: Values) -> Values:
        self._demand_rest()
        name = str(body["cloth"])
        if name not in {cloth.name for cloth in self.job.cloths}:
            raise CannotBeDone(f"the job has no cloth '{name}'.")
        self._cloth = name
        return self._desk()

    # -- by hand

    def _slide(self, body: Values) -> Values:
        """Where a piece would get to; nothing is moved."""
        self._demand_rest()
        return {"by": self._table.slide(int(body["number"]), *map(float, body["by"]))}

    def _change(self, what: Callable[[Tabletop, Values], None], body: Values) -> Values:
        """Change what lies on the table, store it, show it."""
        self._demand_rest()
        table = self._table
        what(table, body)
        if not table.is_empty:
            self._store(table)
        return self._desk()

    def _store(self, table: Tabletop) -> None:
        """Let what lies on the table stand in the job's folder; what stood there is kept."""
        LayoutFolder(self._folder, self.job, self._path).store([table.now.laid], replace=True)

    # -- files

    def _pages(self, body: Values) -> Values:
        """Which full-size pages a layout takes on a paper."""
        planned = full_size(self._laid, str(body["paper"]))
        tiling = planned.tiling
        return {
            "pages": planned.pages,
            "rows": tiling.rows,
            "columns": tiling.columns,
            "page_mm": tiling.tile(0, 0).paper,
            "names": [
                [tiling.tile(row, column).name for column in range(tiling.columns)]
                for row in range(tiling.rows)
            ],
            "printed": [tile.name for tile in planned.printed],
        }

    def _file(self, body: Values) -> Values:
        return vars(
            download(self._laid, self.job, str(body["kind"]), str(body.get("paper") or "a4"))
        )

    @property
    def _laid(self) -> LaidCloth:
        """What lies on the table; raises CannotBeDone for nothing."""
        return self._table.now.laid

    # -- what takes a while

    @property
    def _working(self) -> bool:
        return self._work is not None and self._work.is_alive()

    def _demand_rest(self) -> None:
        if self._working:
            raise CannotBeDone("a search is running. Stop it first.")

    def _begin(self, work: Callable[[], None]) -> None:
        """Do it in a thread of its own; what fails is told as an event."""

        def run() -> None:
            try:
                work()
            except MarkerError as error:
                failure = Failure.of(error)
                told = {"message": failure.message, "faults": list(failure.faults)}
                self._tell({"kind": "failed"} | told)

        self._stop.clear()
        self._work = threading.Thread(target=run, daemon=True)
        self._work.start()

    def _ask(self, what: str, question: Question, body: Values) -> Values:
        self._demand_rest()
        job = self.job

        def work() -> None:
            answer = question(job, body, self._stop, lambda text: self._tell(_stage(text)))
            self._tell({"kind": "answer", "what": what, "answer": answer})

        self._begin(work)
        return {"said": "Working on it."}

    def _lay(self, body: Values) -> Values:
        self._demand_rest()
        seconds = min(max(float(body.get("seconds") or 30.0), 0.5), LONGEST_SECONDS)
        shown, width = self._table, body.get("width")
        table = shown
        if width:
            if not shown.is_empty and shown.now.pinned:
                raise CannotBeDone("pieces are pinned on this width. Let them go first.")
            table = replace(shown, job=_with_width(self.job, shown.cloth, str(width)))
        limits = SearchLimits(seconds=seconds, stopped=self._stop)

        def work() -> None:
            picture = partial(self._show_better, table)
            with SearchTeller(self._tell, picture) as teller:
                arrangement = table.laid(limits, teller)
            shown.put(arrangement)
            self._store(shown)
            ending = arrangement.laid.checked.layout.stopped_because
            self._work = None
            self._tell({"kind": "ended", "text": _ended(ending)})

        self._begin(work)
        return {"said": f"Laying for up to {seconds:.0f} s."}

    def _show_better(self, table: Tabletop, found: BetterLayoutFound) -> Values:
        pinned = frozenset[PieceKey]() if table.is_empty else table.now.pinned
        better = Arrangement(laid_cloth(found.checked()), found.task, pinned)
        return {"kind": "desk", "desk": self._desk() | _shown(better) | {"searching": True}}


def _shown(now: Arrangement) -> dict[str, Any]:
    """A layout with its picture and its figures."""
    laid = now.laid
    numbers = {number for number, key in now.numbered.items() if key in now.pinned}
    return {
        "layout": LayoutTable.of(laid.checked, laid.purchase).as_json(),
        "pieces": drawn_pieces(now.scene.pieces, numbers),
        "figures": layout_figures(laid.checked, laid.purchase),
    }


def _with_width(job: Job, cloth_name: str, width: str) -> Job:
    """The job with another width of one cloth."""
    try:
        mm = parse_length(width)
    except NotALength as error:
        raise CannotBeDone(str(error)) from error
    if not 50 <= mm <= 10_000:
        raise CannotBeDone(f"no cloth is {metric(mm)} wide.")
    cloths = [
        replace(cloth, width_mm=mm) if cloth.name == cloth_name else cloth for cloth in job.cloths
    ]
    return replace(job, cloths=tuple(cloths))


def _cloth_facts(cloth: Cloth) -> Mapping[str, Any]:
    return {
        "name": cloth.name,
        "width_mm": cloth.width_mm,
        "usable_width_mm": cloth.usable_width_mm,
        "nap": cloth.nap.value,
        "spread": cloth.spread.value,
        "on_hand_mm": cloth.have_mm,
    }


def _stage(text: str) -> Values:
    return {"kind": "stage", "text": text}


def _ended(ending: Ending) -> str:
    return "Stopped: the best layout so far." if ending is Ending.BY_HAND else "Laid and checked."


def _digest(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise CannotBeDone(f"{path.name} can't be read any more.") from error
