"""`marker order`: which lays cut an order, and on how many plies."""

from __future__ import annotations

import click

from marker.cli.interrupt import interrupt_as_event
from marker.cli.shell import SECONDS, STOPPED_BY_HAND, as_json, exits_plainly, print_json

DEFAULT_SECONDS = 30.0


@click.command()
@click.option(
    "--demand",
    multiple=True,
    required=True,
    metavar="S=300,M=600",
    help="Garments of each size; for several colours once each, as 'red: S=3,M=4'.",
)
@click.option(
    "--max-garments", type=click.IntRange(0, 1000), required=True, help="Garments in a marker."
)
@click.option("--max-plies", type=click.IntRange(0, 100_000), help="Plies in a lay.")
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
@as_json
@exits_plainly
def order(
    demand: tuple[str, ...],
    max_garments: int,
    max_plies: int | None,
    max_markers: int | None,
    over_cut: str,
    seconds: float,
    seed: int,
    as_json: bool,
) -> None:
    """Plan the lays that cut an order: the sizes in each marker, and the plies it is spread on.

    It plans from the numbers alone and reads no job yet, so it knows no lengths: it looks for
    the fewest lays and, with as many, the fewest plies. With --max-markers it looks for the
    fewest plies first, then the fewest lays.
    """
    from marker.cli.order_report import no_plan_lines, plan_as_dict, plan_lines
    from marker.errors import CannotBeDone
    from marker.files.demand import read_demand, read_over_cut
    from marker.orders.budget import Budget
    from marker.orders.feasible import NoPlan, plan_or_nearest
    from marker.orders.order import CutOrder, Limits
    from marker.orders.planning import Aim

    cut_order = CutOrder(read_demand("--demand", demand), read_over_cut("--over-cut", over_cut))
    limits = Limits(max_garments, max_plies, max_markers)
    aim = Aim.FEWEST_LAYS if max_markers is None else Aim.FEWEST_PLIES
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
