"""What is asked of a whole job: which width to buy, and how an order is laid. Both take a while."""

from __future__ import annotations

import os
from collections.abc import Callable
from threading import Event
from typing import Any

from marker.cloth.buying import as_sold
from marker.errors import CannotBeDone
from marker.exchange.layout_tables import LayoutTable
from marker.job import Job
from marker.jobfile.option_texts import job_demand, read_demand, read_widths
from marker.orders.order import CutOrder, Limits
from marker.planning.events import PlanningEvent, SearchBegan, SearchEnded
from marker.planning.limits import SearchLimits
from marker.planning.order import OrderPlanned, PlanRequest, plan_order
from marker.planning.widths import compare_widths, main_cloth
from marker.planning.workers import MarkerEffort, local_pool
from marker.reports.buy import buy_report
from marker.reports.facts import to_json
from marker.reports.order import order_report
from marker.units import metric
from marker.web.process import Values
from marker.words import counted

Say = Callable[[str], None]
"""Tells a person what is being done now."""

USUAL_WIDTHS = "110cm,140cm,150cm"


def widths_compared(job: Job, body: Values, stop: Event, say: Say) -> dict[str, Any]:
    """What to buy in each width asked for, the cheapest marked."""
    main = main_cloth(job)
    text = str(body.get("widths") or "").strip() or USUAL_WIDTHS
    cloths = [as_sold(main, main.width_mm)] if text == "as it is" else read_widths(
        "widths", text, main
    )  # fmt: skip
    limits = SearchLimits(seconds=_seconds(body, 60.0), stopped=stop)
    return to_json(buy_report(compare_widths(job, cloths, limits, _told(say)), []))


def order_laid(job: Job, body: Values, stop: Event, say: Say) -> dict[str, Any]:
    """The lays that cut an order, each with its marker."""
    lines = [str(line) for line in body["demand"]]
    demand = job_demand(job, "demand", read_demand("demand", lines))
    limits = Limits(
        max_garments=_count(body, "max_garments", 4),
        max_plies=_count(body, "max_plies", 1),
        table_mm=None,
    )
    effort = MarkerEffort(_seconds(body, 8.0), None)
    request = PlanRequest(CutOrder(demand), limits, effort, seconds=_seconds(body, 8.0))
    with local_pool(min(2, os.cpu_count() or 1)) as pool:
        plans = plan_order(job, request, pool, stop, _told(say))
    report = to_json(order_report(job.name, plans, []))
    markers = [LayoutTable.of(lay.marker, None).as_json() for plan in plans for lay in plan.lays]
    return report | {"markers": markers}


def _told(say: Say) -> Callable[[PlanningEvent], None]:
    def told(event: PlanningEvent) -> None:
        match event:
            case SearchBegan():
                say(f"Laying {event.about}.")
            case SearchEnded():
                length = metric(event.checked.layout.length_mm)
                say(f"{event.about}: {length}.")
            case OrderPlanned():
                say(f"{event.about}: {counted(len(event.plan.lays), 'lay')} planned.")

    return told


def _seconds(body: Values, otherwise: float) -> float:
    return min(max(float(body.get("seconds") or otherwise), 1.0), 3600.0)


def _count(body: Values, key: str, least: int) -> int:
    number = int(body.get(key) or least)
    if number < 1:
        raise CannotBeDone(f"{key.replace('_', ' ')}: at least 1 is needed.")
    return number
