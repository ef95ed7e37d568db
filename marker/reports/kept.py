"""What `marker layouts` says: the layouts kept of a job, as JSON and as lines for a person."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from marker.exchange.layout_json import StoredLayout
from marker.layout import Ending
from marker.planning.laid_cloth import LaidCloth
from marker.reports.facts import LayoutMm, Share
from marker.reports.yardage import asked_words
from marker.units import cut_length, percent


@dataclass(frozen=True, kw_only=True)
class KeptFacts:
    """One layout. stands : it is the one that is drawn in the folder of the job.

    buy_mm, cost, utilisation : of the job as it is now; None where it is another by now, and then
    `why_not`.
    """

    file: Path
    cloth: str
    stands: bool
    length_mm: LayoutMm
    utilisation: Share | None
    buy_mm: float | None
    buy_text: str | None
    cost: float | None
    currency: str | None
    stopped_because: Ending
    seed: int
    why_not: str | None


@dataclass(frozen=True)
class KeptReport:
    """The layouts kept of a job, the latest first."""

    name: str
    layouts: tuple[KeptFacts, ...]


def kept_facts(
    stored: StoredLayout, stands: bool, laid: LaidCloth | None = None, why_not: str | None = None
) -> KeptFacts:
    """The facts of a layout file. laid : what it is for the job as it is now."""
    purchase = None if laid is None else laid.purchase
    remnant = f" {stored.remnant}" if stored.remnant else ""
    return KeptFacts(
        file=stored.path,
        cloth=f"{stored.cloth_name}{remnant}",
        stands=stands,
        length_mm=stored.length_mm,
        utilisation=None if laid is None else laid.checked.utilisation,
        buy_mm=None if purchase is None else purchase.buy_mm,
        buy_text=None if purchase is None else asked_words(purchase.buy_mm, purchase.yards),
        cost=None if purchase is None else purchase.cost,
        currency=None if purchase is None else purchase.currency,
        stopped_because=stored.stopped_because,
        seed=stored.seed,
        why_not=why_not,
    )


def kept_lines(report: KeptReport) -> Iterator[str]:
    """The report for a person."""
    if not report.layouts:
        yield f"No layouts of {report.name} are kept. `marker lay` keeps each that it finds."
        return
    yield f"{report.name}, layouts kept, the latest first; * stands in the folder and is drawn:"
    for each in report.layouts:
        mark = "*" if each.stands else " "
        yield f" {mark} {each.cloth}, {cut_length(each.length_mm)} long{_figures(each)}"
        yield f"     {each.stopped_because}, seed {each.seed}: {each.file}"


def _figures(kept: KeptFacts) -> str:
    if kept.why_not is not None or kept.utilisation is None:
        return f"; {kept.why_not}"
    price = "" if kept.cost is None else f", {kept.cost:.2f} {kept.currency}"
    return f", {percent(kept.utilisation)} of the cloth used; to buy {kept.buy_text}{price}"
