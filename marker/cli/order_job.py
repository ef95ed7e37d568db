"""`marker order JOB`: the order planned, laid, drawn, and said."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Event

import click

from marker.cli.interrupt import interrupt_as_event
from marker.cli.order import Wishes
from marker.cli.outputs import slug, write_lays
from marker.cli.progress import announce_first_use
from marker.cli.shell import STOPPED_BY_HAND, print_json
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.files.faults import nearest
from marker.files.writing import output_folder
from marker.job import Job
from marker.jobfile.demand import Demand, read_demand, read_over_cut
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout
from marker.orders.budget import Budget
from marker.orders.feasible import NoPlan
from marker.orders.order import CutOrder, Limits
from marker.planning.lay import loads
from marker.planning.order import Asked, LaidPlan, laid_plan
from marker.planning.splicing import on_rolls
from marker.planning.workers import Crew, Effort, cluster_crew, local_crew
from marker.reports.order import plan_facts, plan_lines, tickets
from marker.reports.plan import no_plan_lines
from marker.units import metric

LAY_SECONDS = 10.0


@dataclass(frozen=True)
class Laying:
    """How markers are laid: seconds or iterations for each, how many at a time, or the address of
    the cluster that lays them."""

    seconds: float | None
    iterations: int | None
    processes: int
    cluster: str | None

    def crew(self, interrupted: Event) -> AbstractContextManager[Crew]:
        """Those who lay them."""
        if self.cluster is not None:
            return cluster_crew(self.cluster, interrupted)
        return local_crew(self.processes, interrupted)

    def effort(self, seed: int) -> Effort:
        """What each gets."""
        limited = self.seconds is not None or self.iterations is not None
        return Effort(self.seconds if limited else LAY_SECONDS, self.iterations, seed)


def order_job(
    path: Path,
    wishes: Wishes,
    most: tuple[int, int | None, int | None],
    laying: Laying,
    out: Path | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Plan, lay and write.

    most : garments in a marker, plies in a lay, markers.
    """
    job = read_job(path)
    wanted = _wanted(job, wishes.demand)
    job = job.with_order(_in_all(wanted))
    order = CutOrder(wanted, read_over_cut("--over-cut", wishes.over_cut))
    cloths = _cloths(job, wishes)
    with output_folder(out or Path("outputs") / f"{slug(job.name)}-order") as folder:
        announce_first_use(quiet)
        with interrupt_as_event() as interrupted, laying.crew(interrupted) as crew:

            def planned(cloth: Cloth) -> LaidPlan:
                told = None if quiet else cloth.name
                asked, effort = _asked(cloth, wishes, most), laying.effort(wishes.seed)
                try:
                    plan = laid_plan(
                        job, cloth, order, asked, crew, effort, wishes.seconds, _teller(told)
                    )
                except NoPlan as problem:
                    why = "\n".join(no_plan_lines(problem, order))
                    raise CannotBeDone(f"{cloth.name}: {why}") from problem
                if not cloth.rolls_mm:
                    return plan
                budget = Budget(wishes.seconds, seed=wishes.seed, interrupted=interrupted)
                return replace(plan, rolls=on_rolls(plan, budget))

            plans = [planned(cloth) for cloth in cloths]
        files = write_lays(plans, job, path, folder, tickets(job, plans))
    facts = plan_facts(job, plans) | {"files": [str(file) for file in files]}
    if as_json:
        print_json(facts)
    else:
        click.echo("\n".join(plan_lines(job, plans)))
        click.echo("".join(f"wrote  {file}\n" for file in files), nl=False)
    if interrupted.is_set():
        raise SystemExit(STOPPED_BY_HAND)


def _teller(cloth: str | None) -> Callable[[CheckedLayout], None]:
    """Says of each marker that it is laid; nothing where no cloth is named."""

    def tell(marker: CheckedLayout) -> None:
        if cloth is not None:
            sizes, layout = ", ".join(marker.garments), marker.layout
            click.echo(f"{cloth}  laid {sizes}: {metric(layout.length_mm)}", err=True)

    return tell


def _wanted(job: Job, demand: tuple[str, ...]) -> Demand:
    """The job's own order, or the one asked for instead, by colour."""
    read = read_demand("--demand", demand) if demand else {"": job.order}
    faults = [
        Fault("--demand", f"the pattern has no size '{size}'", nearest(size, job.sizes))
        for size in dict.fromkeys(size for sizes in read.values() for size in sizes)
        if size not in job.sizes
    ]
    faults += [fault for cloth in job.cloths for fault in _roll_faults(cloth, list(read))]
    if faults:
        raise FaultyInput(faults)
    return {
        colour: {size: number for size, number in sizes.items() if number}
        for colour, sizes in read.items()
    }


def _roll_faults(cloth: Cloth, colours: Sequence[str]) -> Iterator[Fault]:
    """Colours ordered that a cloth's rolls don't know."""
    known = list(cloth.rolls_mm)
    if not known or (known == [""] and len(colours) == 1):
        return
    for colour in colours:
        if colour not in known:
            asked = f"no rolls in {colour}" if colour else "rolls by colour, but none is ordered"
            remedy = f"Order what there is, or write rolls = {{ {colour or 'red'} = [...], ... }}"
            yield Fault("--demand", f"{cloth.name} has {asked}", remedy)


def _in_all(wanted: Demand) -> Counter[str]:
    """Size -> garments of all colours."""
    return sum((Counter(sizes) for sizes in wanted.values()), Counter())


def _cloths(job: Job, wishes: Wishes) -> list[Cloth]:
    """Those that something is cut from; refuses what is not laid for an order."""
    one_each = job.with_order(dict.fromkeys(job.order, 1))
    cloths = [load.cloth for load in loads(one_each)]
    for cloth in cloths:
        if cloth.remnants:
            raise CannotBeDone(
                f"{cloth.name} is laid on remnants, which no lays are spread from. Leave them out, "
                f"or lay the garments with `marker lay`."
            )
        if wishes.table_mm is not None and cloth.spread.ends_meet:
            raise CannotBeDone(
                f"{cloth.name} is '{cloth.spread}', and how much of a table that takes is not "
                f"planned. Leave out --table, or spread it another way."
            )
    return cloths


def _asked(cloth: Cloth, wishes: Wishes, most: tuple[int, int | None, int | None]) -> Asked:
    ends = 2 * cloth.end_allowance_mm if wishes.end_loss_mm is None else wishes.end_loss_mm
    table = None if wishes.table_mm is None else math.floor(wishes.table_mm)
    return Asked(Limits(*most, table), math.ceil(ends), round(wishes.lay_worth_mm or 0))
