"""One job at work: its layouts on the table, what is searched for them, and what is done by hand.

A desk answers one request after another with plain values; a search runs beside it in a thread
and tells of each better layout. Only layouts that the judge has passed are shown as such.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from threading import Event
from typing import Any

from marker.drawing.bands.band_pages import render_bands
from marker.errors import CannotBeDone, FaultyInput, MarkerError
from marker.exchange.layout_tables import LayoutTable
from marker.job import Job
from marker.layout import PieceKey
from marker.outputs.folders import job_folder
from marker.planning.events import BetterLayoutFound
from marker.planning.laid_cloth import LaidCloth
from marker.planning.limits import SearchLimits
from marker.reports.facts import to_json
from marker.web.adding import DroppedPieces
from marker.web.downloads import OF_ORDER, PrintAsked, download, full_size, of_order
from marker.web.drawing_board import ACTS
from marker.web.job_changes import TEXT
from marker.web.nudging import NUDGED
from marker.web.open_job import OpenJob
from marker.web.process import Tell, Values
from marker.web.questions import QUESTIONS, Asked, order_read
from marker.web.shown import (
    as_typed,
    bought_shown,
    cloth_facts,
    ended,
    kept_shown,
    layout_shown,
    pages_shown,
    stage,
    with_width,
)
from marker.web.tables import Tables
from marker.web.tabletop import Arrangement, Tabletop
from marker.web.work import SearchTeller, Work

LONGEST_SECONDS = 3600.0
WATCHED_EVERY_SECONDS = 1.0
READY_AFTER_SECONDS = 0.5
"""When a layout is prepared for moves by hand: its picture comes first."""


class Desk:
    """A job file opened. tell : hears of events. stop : set to end a search."""

    def __init__(self, path: Path, outputs: Path, tell: Tell, stop: Event) -> None:
        self._open = OpenJob(path, outputs)
        self._outputs = outputs
        self._tell = tell
        self._work = Work(tell, stop)
        self._cloth = ""
        self._stored: Tables | None = None
        self._teller: SearchTeller | None = None
        self._version = 0
        self._answers: dict[str, Callable[[Values], Values]] = {
            "job": self._job_facts,
            "desk": lambda _: self._desk(),
            "layout": lambda _: self._layout_json(),
            "trying": lambda _: self._tried_outlines(),
            "kept": lambda _: self._kept(),
            "findings": self._findings,
            "bought": self._bought,
            "order": lambda body: order_read(self.job, body),
            "pattern": lambda body: self._open.pattern(str(body.get("size", self.job.size))),
            "pattern try": lambda body: self._open.tried(str(body["what"]), body),
            "layout cloth": self._choose_cloth,
            "layout lay": self._lay,
            "layout slide": self._slide,
            **{f"layout {what}": partial(self._change, act) for what, act in _BY_HAND.items()},
            "layout keep": self._keep,
            "layout choose": self._choose,
            "layout adopt": self._adopt,
            "text": lambda _: self._open.text(),
            "text try": lambda body: self._open.tried(TEXT, body),
            **{f"pattern {what}": partial(self._draw, what) for what in ACTS},
            "drawings": self._drawings,
            "bands": self._bands,
            "pages": self._pages,
            "file": self._file,
            **{f"questions {what}": partial(self._ask, what) for what in QUESTIONS},
        }
        threading.Thread(target=self._watch, daemon=True).start()

    def answer(self, what: str, body: Values) -> Values:
        """Do what is asked; raises MarkerError where it can't be done."""
        if what not in self._answers:
            raise CannotBeDone(f"the page knows no '{what}'.")
        if self._open.has_changed():
            self._stored = None
            self._version += 1
        with self._open.in_its_units():
            return self._answers[what](body)

    @property
    def job(self) -> Job:
        """The job as its file says; raises FaultyInput with its faults."""
        return self._open.job

    def _watch(self) -> None:
        """Tell when another program changes the job file, or stores a layout of it."""
        told = ""
        while True:
            time.sleep(WATCHED_EVERY_SECONDS)
            stored, cloth = self._stored, self._cloth
            with suppress(MarkerError):  # it can't be read now; who asks is told
                digest, known = self._open.digests()
                laid = stored is not None and stored.has_changed(cloth)
                if digest not in (known, told) or laid:
                    told = digest
                    self._tell({"kind": "changed", "job": digest})

    @property
    def _tables(self) -> Tables:
        if self._stored is None:
            self._stored = Tables(self.job, self._open.path, self._outputs)
        return self._stored

    @property
    def _table(self) -> Tabletop:
        """The table of the cloth that is shown."""
        names = [cloth.name for cloth in self.job.cloths_cut]
        if self._cloth not in names:
            self._cloth = names[0]
        return self._tables.of(self._cloth)

    # -- what is asked

    def _job_facts(self, _body: Values) -> Values:
        job = self.job
        return {
            "name": job.name,
            "size": job.size,
            "sizes": list(job.sizes),
            "order": dict(job.order),
            "units": self.job.show.lead.value,
            "cloths": [cloth_facts(cloth, job.pattern.cloth_names) for cloth in job.cloths],
            "colours": list(dict.fromkeys(c for cloth in job.cloths for c in cloth.rolls if c)),
        } | self._open.stands()

    def _desk(self) -> dict[str, Any]:
        table = self._table
        shown: dict[str, Any] = {"layout": None, "pieces": [], "figures": None}
        desk = {
            "version": self._version,
            "cloths": [cloth.name for cloth in self.job.cloths_cut],
            "cloth": self._cloth,
            "not_laid": self._not_laid(),
            "on_remnants": bool(table.whole_cloth.remnants),
            "units": self.job.show.lead.value,
            "searching": self._work.goes_on,
            "can_undo": table.can_undo,
            "can_redo": table.can_redo,
            "tried": not table.is_empty and table.now.task is not None,
        } | (shown if table.is_empty else self._shown(table, table.now))
        self._make_ready(table)
        return desk

    def _shown(self, table: Tabletop, lies: Arrangement) -> dict[str, Any]:
        return layout_shown(lies, table.whole_cloth, self.job.making.reader)

    def _not_laid(self) -> list[str]:
        """Cloths besides the one shown that pieces are cut from and on which nothing lies yet."""
        others = [each.name for each in self.job.cloths_cut if each.name != self._cloth]
        return [name for name in others if self._tables.of(name).is_empty]

    def _make_ready(self, table: Tabletop) -> None:
        """Prepare what lies there for changes by hand, in a thread, while the person looks."""

        def work() -> None:
            with suppress(MarkerError):  # who moves a piece is told
                table.hand()

        if not table.is_empty and not self._work.goes_on:
            later = threading.Timer(READY_AFTER_SECONDS, work)
            later.daemon = True
            later.start()

    def _layout_json(self) -> Values:
        """As `marker lay --json` has it: remnants after the first are others of it."""
        tables = [
            LayoutTable.of(each.checked, each.purchase).as_json() for each in self._table.now.laid
        ]
        return tables[0] | ({"other_cloths": tables[1:]} if len(tables) > 1 else {})

    def _tried_outlines(self) -> Values:
        teller = self._teller  # gone as soon as the search ends
        return {"of": 0, "outlines": []} if teller is None else teller.outlines()

    def _kept(self) -> Values:
        return {"layouts": list(map(kept_shown, self._tables.kept(self._table.cloth)))}

    def _bought(self, _body: Values) -> Values:
        tables = [self._tables.of(cloth.name) for cloth in self.job.cloths_cut]
        return bought_shown(tables, self.job.making.reader)

    def _findings(self, body: Values) -> Values:
        size = str(body.get("size", self.job.size))
        if size not in self.job.sizes:
            raise CannotBeDone(f"the job has no size '{size}'.")
        return {"findings": [to_json(found) for found in self.job.findings(size)]}

    def _choose_cloth(self, body: Values) -> Values:
        self._work.demand_rest()
        name = str(body["cloth"])
        if name not in {cloth.name for cloth in self.job.cloths_cut}:
            raise CannotBeDone(f"nothing is cut from a cloth '{name}'.")
        self._cloth = name
        self._version += 1
        return self._told_desk(body)

    # -- by hand

    def _slide(self, body: Values) -> Values:
        """Where a piece would get to; nothing is moved."""
        self._work.demand_rest()
        return {"by": self._table.slide(str(body["piece"]), *map(float, body["by"]))}

    def _change(self, what: Callable[[Tabletop, Values], None], body: Values) -> Values:
        """Change what lies on the table, store it, show it."""
        self._work.demand_rest()
        table = self._table
        if int(body.get("version", self._version)) != self._version:
            raise CannotBeDone("it was changed in another tab meanwhile. Look, and do it again.")
        what(table, body)
        return self._stored_and_told(table, body)

    def _stored_and_told(self, table: Tabletop, body: Values) -> Values:
        self._version += 1
        if not table.is_empty:
            self._tables.store(table)
        return self._told_desk(body)

    def _told_desk(self, body: Values) -> Values:
        """What lies on the table, told to every tab but the one that asked."""
        desk = self._desk()
        self._tell({"kind": "desk", "desk": desk, "by": body.get("tab")})
        return desk

    def _keep(self, _body: Values) -> Values:
        self._work.demand_rest()
        self._tables.store(self._table, keep=True)
        return {"said": "Kept."}

    def _choose(self, body: Values) -> Values:
        self._work.demand_rest()
        table = self._table
        table.put(self._tables.kept_one(str(body["kept"])))
        return self._stored_and_told(table, body)

    def _adopt(self, body: Values) -> Values:
        """Write the width that was tried to the job file; its layout stands from then on."""
        self._work.demand_rest()
        tried = self._table.now
        if tried.task is None:
            raise CannotBeDone("no other width was tried.")
        width = as_typed(tried.task.cloth, str(body.get("width") or ""), self.job)
        self._open.change("cloth", {"cloth": self._cloth, "key": "width", "value": width})
        self._stored = None
        table = self._table
        table.put(Arrangement(tried.every))
        self._tables.store(table, keep=True)
        self._version += 1
        self._tell({"kind": "changed", "job": self._open.digest, "by": body.get("tab")})
        return {**self._told_desk(body), "said": f"The job says {width} now."}

    # -- the job file

    def _draw(self, what: str, body: Values) -> Values:
        """Change the job file; what it cuts is read anew."""
        self._work.demand_rest()
        self._open.change(what, body)
        self._stored = None
        self._version += 1
        self._tell({"kind": "changed", "job": self._open.digest, "by": body.get("tab")})
        return self._open.text() | {"said": "Written to the job file."}

    def _drawings(self, body: Values) -> Values:
        """The pieces that dropped drawings hold; or add those that are `chosen`."""
        dropped = DroppedPieces.of(self.job, self._open.path, body)
        if "chosen" not in body:
            return dropped.shown()
        with dropped.beside(self._open.path, body["chosen"]) as change:
            return self._draw("pieces", {**body, **change})

    # -- files

    def _bands(self, body: Values) -> Values:
        """Each page of the drawing of bands in one size, as the text of an SVG."""
        size = str(body.get("size", self.job.size))
        drawn = render_bands(self.job.name, {size: self.job.strip_plans(size)})
        return {"pages": [drawn[name].decode() for name in sorted(drawn) if name.endswith("svg")]}

    def _pages(self, body: Values) -> Values:
        """Which full-size pages a layout takes, printed as asked."""
        asked = PrintAsked.of(body, self.job)
        return pages_shown(full_size(self._laid_on(body), self.job, self._open.path, asked))

    def _file(self, body: Values) -> Values:
        kind = str(body["kind"])
        if kind.startswith(OF_ORDER):
            return vars(of_order(job_folder(self.job.name, "-order", self._outputs), kind))
        asked = PrintAsked.of(body, self.job)
        return vars(download(self._laid_on(body), self.job, self._open.path, kind, asked))

    def _laid_on(self, body: Values) -> LaidCloth:
        """What lies on the cloth, or on the remnant that is asked for; raises CannotBeDone."""
        on = str(body.get("on") or "")
        for laid in self._table.now.laid:
            remnant = laid.checked.layout.cloth.remnant
            if not on or (remnant and remnant.name == on):
                return laid
        raise CannotBeDone(f"nothing lies on {on}.")

    # -- what takes a while

    def _ask(self, what: str, body: Values) -> Values:
        self._work.demand_rest()
        asked = Asked(
            self.job, body, self._work.stop, lambda text: self._tell(stage(text)),
            self._open.path, self._outputs,
        )  # fmt: skip

        def work() -> Values:
            with self._open.in_its_units():
                return {"kind": "answer", "what": what, "answer": QUESTIONS[what](asked)}

        self._work.begin(work)
        return {"said": "Working on it."}

    def _lay(self, body: Values) -> Values:
        self._work.demand_rest()
        seconds = min(max(float(body.get("seconds") or 30.0), 0.5), LONGEST_SECONDS)
        table, width = self._table, body.get("width")
        tried = with_width(self.job, table.cloth, str(width)) if width else None
        if tried and not table.is_empty and table.now.pinned:
            raise CannotBeDone("pieces are pinned on this width. Let them go first.")
        limits = SearchLimits(seconds=seconds, stopped=self._work.stop)

        def work() -> Values:
            with self._open.in_its_units():
                picture = partial(self._show_better, table, tried is not None)
                with SearchTeller(self._tell, picture) as self._teller:
                    arrangement = table.laid(limits, self._teller, tried)
                table.put(arrangement)
                self._tables.store(table, keep=True)
            self._teller = None
            self._version += 1
            endings = [each.layout.stopped_because for each in arrangement.every]
            return {"kind": "ended", "text": ended(endings)}

        self._work.begin(work)
        return {"said": f"Laying for up to {seconds:.0f} s."}

    def _show_better(self, table: Tabletop, tried: bool, found: BetterLayoutFound) -> Values:
        """The event that shows a better layout, which stands from now on where it is the
        shortest: whatever ends the search."""
        pinned = frozenset[PieceKey]() if table.is_empty else table.now.pinned
        better = Arrangement((found.checked(),), pinned, found.task if tried else None)
        with self._open.in_its_units():  # pictures are made in a thread of their own
            if not tried:
                with suppress(FaultyInput):  # a folder that is read-only is told at the end
                    self._tables.stand(table, better)
            shown = self._desk() | self._shown(table, better)
        return {"kind": "desk", "desk": shown | {"searching": True}}


def _names(body: Values) -> tuple[str, ...]:
    return tuple(map(str, body["pieces"]))


_BY_HAND: dict[str, Callable[[Tabletop, Values], None]] = {
    "move": lambda table, body: table.move(
        str(body["piece"]), *map(float, body["by"]), nudged=bool(body.get(NUDGED))
    ),
    "turn": lambda table, body: table.turn(str(body["piece"])),
    "swap": lambda table, body: table.swap(*_names(body)),
    "pin": lambda table, body: table.pin(_names(body), bool(body["pinned"])),
    "undo": lambda table, _: table.step(-1),
    "redo": lambda table, _: table.step(1),
}
