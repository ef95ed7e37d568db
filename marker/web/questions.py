"""What is asked of a whole job, and takes a while: which width to buy, how an order is laid."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Event
from typing import Any

from marker.cloth.buying import as_sold
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.exchange.layout_tables import LayoutTable
from marker.files.writing import prepare_folder
from marker.job import Job
from marker.jobfile.demand import read_demand
from marker.jobfile.demand_table import DemandFile, read_demand_table
from marker.jobfile.option_texts import read_widths
from marker.orders.order import CutOrder, Limits
from marker.orders.planning import Aim
from marker.outputs.folders import job_folder
from marker.outputs.lays import demand_own_lays, lay_drawings, write_lays
from marker.planning.events import PlanningEvent, SearchBegan, SearchEnded
from marker.planning.lay import try_spreads
from marker.planning.limits import SearchLimits, usual_workers
from marker.planning.order import OrderPlanned, PlanRequest, plan_order
from marker.planning.shortage import remedy_shortage
from marker.planning.tasks import loads
from marker.planning.widths import compare_widths, main_cloth
from marker.planning.workers import local_pool
from marker.reports.buy import buy_report
from marker.reports.facts import to_json
from marker.reports.order import order_lines, order_report, problems, to_buy_lines
from marker.reports.shortage import shortage_report
from marker.reports.spreads import spread_facts
from marker.units import NotALength, lengths, parse_length
from marker.web.process import Values
from marker.words import counted

Say = Callable[[str], None]
"""Tells a person what is being done now."""

USUAL_WIDTHS = "110cm,140cm,150cm"


@dataclass(frozen=True)
class Asked:
    """What is asked of a job. body : as the page sent it. stop : set to end early. say : tells a
    person what is being done. path, outputs : of the job file, and the folder of all that is made.
    """

    job: Job
    body: Values
    stop: Event
    say: Say
    path: Path
    outputs: Path


def widths_compared(asked: Asked) -> dict[str, Any]:
    """What to buy in each width asked for, the cheapest marked."""
    job, body = asked.job, asked.body
    main = main_cloth(job)
    text = str(body.get("widths") or "").strip() or USUAL_WIDTHS
    cloths = [as_sold(main, main.width_mm)] if text == "as it is" else read_widths(
        "widths", text, main
    )  # fmt: skip
    limits = SearchLimits(seconds=_seconds(body, 60.0), stopped=asked.stop)
    return to_json(buy_report(compare_widths(job, cloths, limits, _told(asked.say)), []))


def spreads_compared(asked: Asked) -> dict[str, Any]:
    """Every way to spread a cloth, laid."""
    job, body = asked.job, asked.body
    limits = SearchLimits(seconds=_seconds(body, 60.0), stopped=asked.stop)
    load = loads(job, [_cloth(job, body)])[0]
    tried = try_spreads(load, limits, _told(asked.say))
    return {"spreads": [to_json(each) for each in spread_facts(tried)]}


def shortage_remedied(asked: Asked) -> dict[str, Any]:
    """What makes the job fit the length there is; each change with what it writes."""
    job, body = asked.job, asked.body
    cloth = _cloth(job, body)
    length = str(body.get("have") or "").strip()
    if length:
        cloth = replace(cloth, have_mm=_length(length))
    if cloth.have_mm is None:
        raise CannotBeDone(f"how much {cloth.name} is there? Give a length.")
    limits = SearchLimits(seconds=_seconds(body, 60.0), stopped=asked.stop)
    found = remedy_shortage(job, cloth, limits, _told(asked.say))
    edits = {
        str(each.edit): each.edit
        for trial in (*found.singles, found.best)
        for each in trial.changes
    }
    written = {
        text: [{"place": place, "value": edit.value} for place in edit.places]
        for text, edit in edits.items()
    }
    return to_json(shortage_report(found)) | {"edits": written}


def order_laid(asked: Asked) -> dict[str, Any]:
    """The lays that cut an order, each with its marker; their sheets are written as `marker order`
    writes them."""
    job, body = asked.job, asked.body
    folder = job_folder(job.name, "-order", asked.outputs)
    prepare_folder(folder)
    demand_own_lays(job, folder)
    lines = [str(line) for line in body["demand"]]
    demand = read_demand("demand", lines, job)
    limits = Limits(
        max_garments=_limit(body, "max_garments", "garments in a marker", 1000) or 4,
        max_plies=_limit(body, "max_plies", "plies in a lay", 100_000),
        table_mm=math.floor(_length(table)) if (table := str(body.get("table") or "")) else None,
    )
    aim = Aim(str(body.get("aim") or Aim.LEAST_COST))
    request = PlanRequest(CutOrder(demand), limits, _seconds(body, 30.0), aim=aim)
    with local_pool(usual_workers()) as pool:
        plans = plan_order(job, request, pool, asked.stop, _told(asked.say))
    files = write_lays(plans, job, asked.path, folder, lay_drawings(plans, job))
    report = to_json(order_report(job, plans, [Path(path.name) for path in files]))
    markers = [LayoutTable.of(lay.marker, None).as_json() for plan in plans for lay in plan.lays]
    said = {
        "lines": list(order_lines(job, plans)),
        "to_buy": [line for plan in plans for line in to_buy_lines(plan)],
        "problems": list(problems(plans)),
    }
    return report | said | {"markers": markers}


def order_read(job: Job, body: Values) -> Values:
    """What a file says is ordered of a job, to be looked through before it is planned.

    body : the `path` of the file, and the name of its `sheet`, maybe ''. Raises FaultyInput.
    """
    file = DemandFile(Path(str(body["path"])), str(body.get("sheet") or "").strip() or None)
    try:
        demand = read_demand_table(file, job)
    except FaultyInput as error:
        raise FaultyInput(map(_for_the_page, error.faults)) from error
    return {"colours": [{"colour": each, "counts": dict(of)} for each, of in demand.items()]}


def _for_the_page(fault: Fault) -> Fault:
    """A fault that asks for a sheet as the command takes it, in the words of the page's field."""
    if "after a '#'" in fault.remedy:
        return replace(fault, remedy="Write the name of one under 'Sheet'")
    if fault.remedy.startswith("Leave out '#"):
        return replace(fault, remedy="Leave 'Sheet' empty")
    return fault


QUESTIONS = {
    "widths": widths_compared,
    "spreads": spreads_compared,
    "shortage": shortage_remedied,
    "order": order_laid,
}
"""What can be asked, and what answers it."""


def _told(say: Say) -> Callable[[PlanningEvent], None]:
    def told(event: PlanningEvent) -> None:
        match event:
            case SearchBegan():
                say(f"Laying {event.about}.")
            case SearchEnded():
                length = lengths(event.checked.layout.length_mm)
                say(f"{event.about}: {length}.")
            case OrderPlanned():
                say(f"{event.about}: {counted(len(event.plan.lays), 'lay')} planned.")

    return told


def _cloth(job: Job, body: Values) -> Cloth:
    named = {cloth.name: cloth for cloth in job.cloths_cut}
    name = str(body.get("cloth") or next(iter(named)))
    if name not in named:
        raise CannotBeDone(f"the job has no cloth '{name}'.")
    return named[name]


def _length(text: str) -> float:
    try:
        return parse_length(text)
    except NotALength as error:
        raise CannotBeDone(f"{error}.") from error


def _seconds(body: Values, otherwise: float) -> float:
    return min(max(float(body.get("seconds") or otherwise), 1.0), 3600.0)


def _limit(body: Values, key: str, what: str, most: int) -> int | None:
    """A whole number above 0, as the command takes it; None where none is given."""
    text = str(body.get(key) or "").strip()
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 10 and 1 <= int(text) <= most):
        raise CannotBeDone(f"{what}: '{text[:40]}' is no whole number from 1 to {most}.")
    return int(text)
