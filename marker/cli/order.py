"""`marker order`: which lays cut an order, and on how many plies."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli import shell
from marker.cli.shell import (
    CANNOT_BE_DONE,
    SECONDS,
    STOPPED_BY_HAND,
    Number,
    as_json,
    exits_plainly,
    length_option,
    print_json,
    say,
)

if TYPE_CHECKING:
    from marker.cli.running import Reporter, StopSignals
    from marker.job import Job
    from marker.jobfile.demand import Demand
    from marker.orders.order import CutOrder, Limits
    from marker.orders.planning import Aim
    from marker.planning.events import OnEvent
    from marker.planning.laid_plan import LaidPlan
    from marker.planning.order import PlanRequest
    from marker.planning.workers import WorkerPool

DEFAULT_SECONDS = 30.0
COST = "AMOUNT|LENGTH"


@click.command()
@click.argument("job", required=False, type=click.Path(path_type=Path))
@click.option(
    "--demand",
    multiple=True,
    metavar="S=300,M=600",
    help="Garments of each size, the job's own order unless given; for several colours once each, "
    "as 'red: S=3,M=4'. Or a file, .csv, .xlsx or .ods: sizes in the first row, a row for each "
    "colour; 'order.xlsx#March' names a sheet. "
    "`marker reference orders` says more.",
)
@click.option("--max-garments", type=Number(1, 1000), required=True, help="Garments in a marker.")
@click.option(
    "--max-plies",
    type=Number(1, 100_000),
    help="Plies in a lay: 1 for shears, also of folded cloth, whose plies are two thick.",
)
@click.option(
    "--max-markers",
    type=Number(1, 1000),
    help="Markers in the plan, each spread once; then the fewest plies are looked for.",
)
@click.option(
    "--over-cut",
    default="0%",
    show_default=True,
    metavar="any|N%",
    help="How many more than ordered may be cut of each size, rounded down.",
)
@click.option(
    "--seconds",
    type=SECONDS,
    help="For all of it, planning and laying; it ends sooner once the plan is proven. "
    f"{DEFAULT_SECONDS:.0f} unless --iterations is given.",
)
@click.option("--seed", type=Number(0, 2**31 - 1), default=0, show_default=True)
@length_option("--table", help="With JOB: the table that a ply must fit, ends included.")
@length_option(
    "--end-loss",
    help="With JOB: what is lost of every ply, both ends together; the cloth's end allowances "
    "unless given.",
)
@click.option(
    "--aim",
    type=click.Choice(["lays", "plies", "cost"]),
    help="What there is to be least of. With JOB cost unless given: cloth, and what the next three "
    "say. From numbers alone lays, or with --max-markers plies.",
)
@click.option("--ply-cost", metavar=COST, help="With JOB: of spreading one ply.")
@click.option("--lay-cost", metavar=COST, help="With JOB: of setting up and cutting one lay.")
@click.option(
    "--marker-cost",
    metavar=COST,
    help="With JOB: of making one marker. An AMOUNT is in the currency of the cloth's price, a "
    "LENGTH is of cloth that costs as much.",
)
@click.option(
    "--iterations",
    type=Number(0),
    help="With JOB: of the search of each marker; the same plan wherever it is made.",
)
@click.option(
    "--workers",
    type=Number(1, 64),
    help=f"With JOB: markers at a time; {shell.WORKERS}, unless given.",
)
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="With JOB: lay markers on the workers of the dask.distributed scheduler there, such as "
    "tcp://host:8786. That trusts its whole network; tls://host:8786 takes the certificates of "
    "dask's configuration.",
)
@click.option("--out", type=click.Path(path_type=Path), help="With JOB: folder to write to.")
@shell.quiet
@as_json
@exits_plainly
def order(
    job: Path | None,
    demand: tuple[str, ...],
    max_garments: int,
    max_plies: int | None,
    max_markers: int | None,
    over_cut: str,
    seconds: float | None,
    seed: int,
    table: float | None,
    end_loss: float | None,
    aim: str | None,
    ply_cost: str | None,
    lay_cost: str | None,
    marker_cost: str | None,
    iterations: int | None,
    workers: int | None,
    cluster: str | None,
    out: Path | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Plan the lays that cut an order: the sizes in each marker, and the plies it is spread on.

    With a JOB it estimates how long markers are, lays those that it chooses, and plans again with
    their lengths until nothing changes. Then it lays the markers chosen again while there is time.
    Each lay is written as a PDF: its sheet, its marker's diagram and bundle tickets. Without a JOB
    it plans from the numbers alone: the fewest lays and, with as many, the fewest plies, or the
    other way round.
    Ctrl-C keeps the best plan so far. Where the rolls of a cloth do not suffice, all is written,
    and the exit code is 1.
    """
    from marker.jobfile.option_texts import read_over_cut
    from marker.orders.order import CutOrder, Limits
    from marker.orders.planning import Aim

    over = read_over_cut("--over-cut", over_cut)
    if seconds is None and iterations is None:
        seconds = DEFAULT_SECONDS
    longest = None if table is None else math.floor(table)
    limits = Limits(max_garments, max_plies, max_markers, longest)
    if job is not None:
        if workers is not None and cluster is not None:
            raise click.UsageError("--workers is for this machine; a cluster has its own.")
        from marker.cli.shell import read_shown
        from marker.jobfile.option_texts import read_cost
        from marker.planning.order import Costs, PlanRequest

        read = read_shown(job)
        request = PlanRequest(
            CutOrder(_wanted(demand, read), over),
            limits,
            seconds,
            iterations,
            seed,
            end_loss_mm=end_loss,
            aim=Aim(aim or Aim.LEAST_COST),
            costs=Costs(
                read_cost("--ply-cost", ply_cost),
                read_cost("--lay-cost", lay_cost),
                read_cost("--marker-cost", marker_cost),
            ),
        )
        pool = partial(_pool, workers, cluster)
        _plan_job(read, job, request, pool, out, _Told(quiet, as_json))
        return
    costs = (ply_cost, lay_cost, marker_cost)
    with_job = (table, end_loss, *costs, iterations, workers, cluster, out)
    if not demand or any(each is not None for each in with_job):
        raise click.UsageError("Name a JOB, or give --demand alone with the limits of a lay.")
    if aim == "cost":
        raise click.UsageError("Name a JOB: what cloth costs is not known from numbers alone.")
    asked = aim or ("lays" if max_markers is None else "plies")
    _plan_alone(CutOrder(_wanted(demand, None), over), limits, Aim(asked), seconds, seed, as_json)


def _wanted(demand: Sequence[str], job: Job | None) -> Demand:
    """The garments ordered: as said, as a file has them, or as the job itself does."""
    from marker.jobfile.demand import job_demand, read_demand
    from marker.jobfile.demand_table import DemandFile, read_demand_table

    if job is not None and not demand:
        return job_demand(job, "--demand")
    files = [file for text in demand if (file := DemandFile.named(text)) is not None]
    if not files:
        return read_demand("--demand", demand, job)
    if len(demand) > 1:
        raise click.UsageError("Give a file of the order alone: it holds a row for each colour.")
    return read_demand_table(files[0], job)


def _plan_alone(
    cut_order: CutOrder,
    limits: Limits,
    aim: Aim,
    seconds: float | None,
    seed: int,
    as_json: bool,
) -> None:
    from marker.cli.running import stop_signals
    from marker.errors import CannotBeDone
    from marker.orders.budget import Budget
    from marker.orders.feasible import NoPlan, plan_or_nearest
    from marker.reports.facts import to_json
    from marker.reports.plan import no_plan_lines, plan_lines, plan_report

    with stop_signals() as signals:
        budget = Budget(seconds, seed=seed, interrupted=signals.stopped)
        try:
            plan = plan_or_nearest(cut_order, limits, aim, None, budget)
        except NoPlan as problem:
            raise CannotBeDone("\n".join(no_plan_lines(problem, cut_order))) from problem
    if as_json:
        print_json(to_json(plan_report(plan)))
    else:
        say("\n".join(plan_lines(plan)))
    if signals.stopped.is_set():
        raise SystemExit(STOPPED_BY_HAND)


def _plan_job(
    job: Job,
    path: Path,
    request: PlanRequest,
    pool: Callable[[OnEvent], AbstractContextManager[WorkerPool]],
    out: Path | None,
    told: _Told,
) -> None:
    """Plan, lay, write, say."""
    from marker.cli.running import Reporter, stop_signals
    from marker.errors import CannotBeDone
    from marker.files.writing import output_folder
    from marker.outputs.folders import job_folder
    from marker.outputs.lays import demand_own_lays
    from marker.planning.order import NoPlanOnCloth, plan_order
    from marker.reports.facts import to_json
    from marker.reports.order import (
        no_order_lines,
        order_lines,
        order_report,
        problems,
        written_line,
    )

    with (
        output_folder(out or job_folder(job.name, "-order")) as folder,
        stop_signals() as signals,
        Reporter(told.quiet) as reporter,
    ):
        demand_own_lays(job, folder)
        with pool(reporter) as workers:
            try:
                plans = plan_order(job, request, workers, signals.stopped, reporter)
            except NoPlanOnCloth as problem:
                raise CannotBeDone("\n".join(no_order_lines(problem))) from problem
        lays = _Lays(plans, job, path, folder)
        try:
            lays.write(signals, reporter)
        finally:  # a plan is said even where its lays can't be written
            if told.as_json:
                print_json(to_json(order_report(job, plans, lays.files)))
            else:
                say("\n".join(order_lines(job, plans)))
    if not told.as_json:
        say(written_line(plans, folder, drawn=lays.drawn))
    wrong = list(problems(plans))
    for each in wrong:
        say(f"marker: {each}", err=True)
    if signals.stopped.is_set():
        raise SystemExit(STOPPED_BY_HAND)
    if wrong:
        raise SystemExit(CANNOT_BE_DONE)


def _pool(
    workers: int | None, cluster: str | None, on_event: OnEvent
) -> AbstractContextManager[WorkerPool]:
    from marker.planning.cluster import cluster_pool
    from marker.planning.limits import usual_workers
    from marker.planning.workers import local_pool

    if cluster is None:
        return local_pool(workers or usual_workers())
    return cluster_pool(cluster, on_event)


@dataclass
class _Lays:
    """What is written of the plans of a job. files : what was. drawn : whether lay sheets and
    diagrams are among that."""

    plans: Sequence[LaidPlan]
    job: Job
    path: Path
    folder: Path
    files: Sequence[Path] = ()
    drawn: bool = False

    def write(self, signals: StopSignals, reporter: Reporter) -> None:
        """The plan and its markers first, then what is drawn, which an impatient hand leaves
        out."""
        from marker.cli.running import LeftOut
        from marker.errors import FaultyInput
        from marker.outputs.lays import lay_drawings, write_lays

        try:
            self.files = write_lays(self.plans, self.job, self.path, self.folder, {})
        except FaultyInput:
            self._rescue()
            raise
        if signals.stopped.is_set():
            reporter.say("stopped: the plan is written. Ctrl-C again leaves its lay sheets out")
        try:
            with signals.may_be_left_out():
                reporter.say("drawing")
                drawn = lay_drawings(self.plans, self.job)
        except LeftOut:
            reporter.say("lay sheets and diagrams are left out; all markers are written")
            return
        self.files = write_lays(self.plans, self.job, self.path, self.folder, drawn)
        self.drawn = True

    def _rescue(self) -> None:
        """Put what its own folder can't take where there is room, and say where."""
        from marker.errors import FaultyInput
        from marker.outputs.lays import rescue_lays

        try:
            kept = rescue_lays(self.plans, self.job, self.path)
        except (OSError, FaultyInput) as error:
            said = f"the markers are lost: no temporary folder takes them either ({error})."
        else:
            said = (
                f"{self.folder} can't take the plan, so it is kept with its markers in {kept}. "
                f"Print or export them from there. The system may remove it at its next start."
            )
        say(f"marker: {said}", err=True)


@dataclass(frozen=True)
class _Told:
    """How what happens is told."""

    quiet: bool
    as_json: bool
