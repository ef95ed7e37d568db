"""One job at work: its layouts on the table, what is searched for them, and what is done by hand.

A desk answers one request after another with plain values; a search runs beside it in a thread
and tells of each better layout. Only layouts that the judge has passed are shown.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from threading import Event
from typing import Any

from marker.drawing.bands.band_pages import render_bands
from marker.errors import CannotBeDone, MarkerError
from marker.exchange.layout_tables import LayoutTable
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.jobfile.stored import layout_of_job
from marker.layout import PieceKey
from marker.outputs.folders import job_folder
from marker.outputs.layouts import LAYOUT, LayoutFolder, cloth_starts
from marker.planning.events import BetterLayoutFound
from marker.planning.laid_cloth import LaidCloth, laid_cloth
from marker.planning.limits import SearchLimits
from marker.reports.facts import to_json
from marker.units import show_lengths
from marker.web.downloads import download, full_size
from marker.web.drawing_board import CHANGES, DrawingBoard
from marker.web.pattern_picture import pattern_picture
from marker.web.pictures import bought
from marker.web.process import Failure, Values, fault_values
from marker.web.questions import (
    Say,
    order_laid,
    shortage_remedied,
    spreads_compared,
    widths_compared,
)
from marker.web.shown import (
    cloth_facts,
    ended,
    file_digest,
    layout_shown,
    stage,
    with_width,
)
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
        self._drawn: DrawingBoard | None = None
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
            "text": lambda _: self._text(self._board),
            "text try": self._try_text,
            **{f"pattern {what}": partial(self._draw, what) for what in CHANGES},
            "bands": self._bands,
            "pages": self._pages,
            "file": self._file,
            "questions widths": partial(self._ask, "widths", widths_compared),
            "questions order": partial(self._ask, "order", order_laid),
            "questions spreads": partial(self._ask, "spreads", spreads_compared),
            "questions shortage": partial(self._ask, "shortage", shortage_remedied),
        }

    def answer(self, what: str, body: Values) -> Values:
        """Do what is asked; raises MarkerError where it can't be done."""
        if what not in self._answers:
            raise CannotBeDone(f"the page knows no '{what}'.")
        self._read_again_if_changed()
        with self._in_its_units():
            return self._answers[what](body)

    @contextmanager
    def _in_its_units(self) -> Iterator[None]:
        """Lengths are written as the job says, where it can be read."""
        try:
            show = self.job.show
        except MarkerError:
            yield
            return
        with show_lengths(show):
            yield

    @property
    def job(self) -> Job:
        """The job as its file says; raises FaultyInput with its faults."""
        if self._job is None:
            self._job = read_job(self._path)
            if self._cloth not in {cloth.name for cloth in self._job.cloths}:
                self._cloth = self._job.cloths[0].name
        return self._job

    def _read_again_if_changed(self) -> None:
        digest = file_digest(self._path)
        if digest != self._seen:
            self._seen, self._job, self._tables, self._drawn = digest, None, {}, None

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
            "units": self.job.show.lead.value,
            "cloths": [cloth_facts(cloth) for cloth in job.cloths],
        }

    def _desk(self) -> dict[str, Any]:
        table = self._table
        shown: dict[str, Any] = {"layout": None, "pieces": [], "figures": None}
        return {
            "cloths": [cloth.name for cloth in self.job.cloths],
            "cloth": self._cloth,
            "units": self.job.show.lead.value,
            "searching": self._working,
            "can_undo": table.can_undo,
            "can_redo": table.can_redo,
            "kept": [
                {
                    "id": number,
                    "length_mm": each.length_mm,
                    "buy_text": bought(each.laid.purchase),
                }
                for number, each in enumerate(table.kept)
            ],
        } | (shown if table.is_empty else layout_shown(table.now))

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

    # -- the job file

    @property
    def _board(self) -> DrawingBoard:
        """The text of the job file, with what was done to it here."""
        if self._drawn is None:
            self._drawn = DrawingBoard(self._path)
        return self._drawn

    def _text(self, board: DrawingBoard) -> dict[str, Any]:
        return {"text": board.text, "can_undo": board.can_undo, "can_redo": board.can_redo}

    def _try_text(self, body: Values) -> Values:
        """The faults of another text, and its pattern where there are none. Nothing is written."""
        text = str(body["text"])
        faults = self._board.tried(text).faults
        if faults:
            return {"faults": [fault_values(fault) for fault in faults], "pattern": None}
        job = read_job(self._path, text)
        return {"faults": [], "pattern": pattern_picture(job, job.size)}

    def _draw(self, what: str, body: Values) -> Values:
        """Change the job file; what it cuts is read anew."""
        self._demand_rest()
        board = self._board
        board.change(what, body)
        self._seen, self._job, self._tables = file_digest(self._path), None, {}
        return self._text(board) | {"said": "Written to the job file."}

    # -- files

    def _bands(self, body: Values) -> Values:
        """Each page of the drawing of bands in one size, as the text of an SVG."""
        size = str(body.get("size", self.job.size))
        drawn = render_bands(self.job.name, {size: self.job.strip_plans(size)})
        return {"pages": [drawn[name].decode() for name in sorted(drawn) if name.endswith("svg")]}

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
                with self._in_its_units():
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
            answer = question(job, body, self._stop, lambda text: self._tell(stage(text)))
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
            table = replace(shown, job=with_width(self.job, shown.cloth, str(width)))
        limits = SearchLimits(seconds=seconds, stopped=self._stop)

        def work() -> None:
            picture = partial(self._show_better, table)
            with SearchTeller(self._tell, picture) as teller:
                arrangement = table.laid(limits, teller)
            shown.put(arrangement)
            self._store(shown)
            ending = arrangement.laid.checked.layout.stopped_because
            self._work = None
            self._tell({"kind": "ended", "text": ended(ending)})

        self._begin(work)
        return {"said": f"Laying for up to {seconds:.0f} s."}

    def _show_better(self, table: Tabletop, found: BetterLayoutFound) -> Values:
        pinned = frozenset[PieceKey]() if table.is_empty else table.now.pinned
        better = Arrangement(laid_cloth(found.checked()), found.task, pinned)
        with self._in_its_units():  # pictures are made in a thread of their own
            shown = self._desk() | layout_shown(better)
        return {"kind": "desk", "desk": shown | {"searching": True}}
