"""How few lays orders of many colours need: `python -m tests.benchmarks.orders --help`."""

from __future__ import annotations

import argparse
import resource
import time
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from marker.orders.budget import Budget
from marker.orders.feasible import plan_or_nearest
from marker.orders.order import CutOrder, Limits
from marker.orders.planning import Aim, CutPlan
from tests.benchmarks.fresh import in_fresh_process
from tests.benchmarks.options import positive_count
from tests.benchmarks.table import markdown, markdown_row
from tests.orders.sound import assert_sound

ANY, EXACT = None, Fraction(0)


@dataclass(frozen=True)
class Case:
    """An order drawn at random. greedy : lays of a plain randomised greedy construction of 60
    lines, the best of 10 to 30 s, on orders of the same kind; None where it was not tried."""

    name: str
    sizes: int
    colours: int
    garments: int
    limits: Limits
    over_cut: Fraction | None
    greedy: int | None = None

    def order(self, seed: int) -> CutOrder:
        """Shares of sizes and colours between 0.2 and 1.8 of their mean, rounded to the total."""
        shares = np.random.default_rng(seed).uniform(0.2, 1.8, (self.colours, self.sizes))
        exact = shares / shares.sum() * self.garments
        wanted = np.floor(exact).astype(int)
        short = np.argsort(-(exact - wanted).ravel())[: self.garments - wanted.sum()]
        wanted.ravel()[short] += 1
        return CutOrder(
            {
                f"colour {c}": {f"size {s}": int(n) for s, n in enumerate(of, 1)}
                for c, of in enumerate(wanted, 1)
            },
            self.over_cut,
        )


CASES = (
    Case("12 × 8, exact", 12, 8, 5000, Limits(6, 80), EXACT, 26),
    Case("12 × 8, 5 % over", 12, 8, 5000, Limits(6, 80), Fraction(5, 100), 25),
    Case("12 × 8, any over", 12, 8, 5000, Limits(6, 80), ANY, 13),
    Case("12 × 8, 8 garments, 100 plies, any over", 12, 8, 5000, Limits(8, 100), ANY, 8),
    Case("8 × 6, 3 % over", 8, 6, 2400, Limits(6, 80), Fraction(3, 100), 13),
    Case("6 × 4, exact", 6, 4, 1200, Limits(6, 80), EXACT, 10),
    Case("30 × 8, exact", 30, 8, 20_000, Limits(8, 100), EXACT),
    Case("30 × 8, any over", 30, 8, 20_000, Limits(8, 100), ANY),
)
_HEAD = (
    "order (sizes × colours)", "seed", "greedy", "lays", "plies", "garments over", "bound",
    "gap, %", "s", "peak MB",
)  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> None:
    """Print one row a run, each in a process of its own, its plan checked by arithmetic."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.orders", description=__doc__)
    add = parser.add_argument
    add("--seconds", type=float, default=30.0, help="time of a run (default 30)")
    add("--seeds", type=positive_count, default=1, help="orders of each kind (default 1)")
    add("--cases", type=int, nargs="*", help="numbers of the kinds, from 0 (default: all)")
    add("--processor-time", action="store_true", help="the seconds are processor time")
    options = parser.parse_args(arguments)
    print(markdown(_HEAD, []))
    for number in options.cases or range(len(CASES)):
        for seed in range(options.seeds):
            cells = in_fresh_process(
                measure, CASES[number], seed, options.seconds, options.processor_time
            )
            print(markdown_row(cells), flush=True)


def measure(case: Case, seed: int, seconds: float, processor_time: bool) -> list[str]:
    """Cells of one run; raises AssertionError where the plan does not add up."""
    clock = time.process_time if processor_time else time.monotonic
    order, started = case.order(seed), clock()
    budget = Budget(seconds, seed=seed, clock=clock)
    plan = plan_or_nearest(order, case.limits, Aim.FEWEST_LAYS, None, budget)
    took = clock() - started
    assert_sound(plan.lays, order, case.limits)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return _cells(case, seed, plan, took, peak)


def _cells(case: Case, seed: int, plan: CutPlan, took: float, peak_mb: float) -> list[str]:
    lays, plies = plan.tiers
    over = sum(lay.cut for lay in plan.lays) - plan.order.garments
    return [
        case.name,
        str(seed),
        "–" if case.greedy is None else str(case.greedy),
        str(lays.value),
        str(plies.value),
        str(over),
        str(lays.bound),
        f"{100 * (1 - lays.bound / lays.value):.1f}",
        f"{took:.1f}",
        f"{peak_mb:.0f}",
    ]


if __name__ == "__main__":
    main()
