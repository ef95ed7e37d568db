"""`marker order`: which lays cut an order, and on how many plies."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import click

from marker.cli import shell
from marker.cli.interrupt import interrupt_as_event
from marker.cli.shell import (
    SECONDS,
    STOPPED_BY_HAND,
    as_json,
    exits_plainly,
    length_option,
    print_json,
)

DEFAULT_SECONDS = 30.0


@dataclass(frozen=True)
class Wishes:
    """What is asked of a plan with lengths, as given on the command line; lengths in mm."""

    demand: tuple[str, ...]
    over_cut: str
    seconds: float
    seed: int
    table_mm: float | None
    end_loss_mm: float | None
    lay_worth_mm: float | None


@click.command()
@click.argument("job", required=False, type=click.Path(path_type=Path))
@click.option(
    "--demand",
    multiple=True,
    metavar="S=300,M=600",
    help="Garments of each size, the job's own order unless given; for several colours once each, "
    "as 'red: S=3,M=4'.",
)
@click.option(
    "--max-garments", type=click.IntRange(0, 1000), required=True, help="Garments in a marker."
)
@click.option(
    "--max-plies",
    type=click.IntRange(0, 100_000),
    help="Plies in a lay: 1 for shears, also of folded cloth, whose plies are two thick.",
)
@click.option(
    "--max-markers",
    type=click.IntRange(0, 1000),
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
    default=DEFAULT_SECONDS,
    show_default=True,
    help="Search at most this long; it ends sooner once the plan is proven.",
)
@click.option("--seed", type=click.IntRange(0, 2**31 - 1), default=0, show_default=True)
@length_option("--table", help="With JOB: the longest that a ply may be, ends included.")
@length_option(
    "--end-loss",
    help="With JOB: what is lost of every ply, both ends together; the cloth's end allowances "
    "unless given.",
)
@length_option(
    "--lay-worth", help="With JOB: cloth that would pay for making and cutting one lay more."
)
@click.option("--lay-seconds", type=SECONDS, help="With JOB: search each marker so long; 10.")
@click.option("--iterations", type=click.IntRange(min=0), help="With JOB: instead of seconds.")
@click.option("--workers", type=click.IntRange(1, 64), help="With JOB: markers at a time; 2.")
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="With JOB: lay markers on the workers of the dask.distributed scheduler there.",
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
    seconds: float,
    seed: int,
    table: float | None,
    end_loss: float | None,
    lay_worth: float | None,
    lay_seconds: float | None,
    iterations: int | None,
    workers: int | None,
    cluster: str | None,
    out: Path | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Plan the lays that cut an order: the sizes in each marker, and the plies it is spread on.

    With a JOB it looks for the least cloth: it estimates how long markers are, lays those that
    it chooses, and plans again with their lengths until nothing changes. Each lay is written with
    its diagram, and a ticket to cut by. Without one it plans from the numbers alone: the fewest
    lays and, with as many, the fewest plies; with --max-markers the fewest plies first. Ctrl-C
    keeps the best plan so far.
    """
    limits = max_garments, max_plies, max_markers
    if job is not None:
        from marker.cli.order_job import Laying, order_job

        if workers is not None and cluster is not None:
            raise click.UsageError("--workers is for this machine; a cluster has its own.")
        wishes = Wishes(demand, over_cut, seconds, seed, table, end_loss, lay_worth)
        laying = Laying(lay_seconds, iterations, workers or 2, cluster)
        order_job(job, wishes, limits, laying, out, quiet, as_json)
        return
    given = (table, end_loss, lay_worth, lay_seconds, iterations, workers, cluster, out)
    if not demand or any(each is not None for each in given):
        raise click.UsageError("Name a JOB, or give --demand alone with the limits of a lay.")
    _plan_alone(demand, over_cut, limits, seconds, seed, as_json)


def _plan_alone(
    demand: tuple[str, ...],
    over_cut: str,
    most: tuple[int, int | None, int | None],
    seconds: float,
    seed: int,
    as_json: bool,
) -> None:
    from marker.errors import CannotBeDone
    from marker.jobfile.demand import read_demand, read_over_cut
    from marker.orders.budget import Budget
    from marker.orders.feasible import NoPlan, plan_or_nearest
    from marker.orders.order import CutOrder, Limits
    from marker.orders.planning import Aim
    from marker.reports.plan import no_plan_lines, plan_as_dict, plan_lines

    cut_order = CutOrder(read_demand("--demand", demand), read_over_cut("--over-cut", over_cut))
    limits = Limits(*most)
    aim = Aim.FEWEST_LAYS if limits.max_markers is None else Aim.FEWEST_PLIES
    with interrupt_as_event() as interrupted:
        budget = Budget(seconds, seed=seed, interrupted=interrupted)
        try:
            plan = plan_or_nearest(cut_order, limits, aim, None, budget)
        except NoPlan as problem:
            raise CannotBeDone("\n".join(no_plan_lines(problem, cut_order))) from problem
    if as_json:
        print_json(plan_as_dict(plan))
    else:
        click.echo("\n".join(plan_lines(plan)))
    if interrupted.is_set():
        raise SystemExit(STOPPED_BY_HAND)
