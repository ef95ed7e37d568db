"""Orders on rolls of several widths, against arithmetic that shares nothing with the planning.

A garment M is two sashes of 300 mm across and 100 mm along the cloth. On 600 mm they lie side by
side, on 400 mm one behind the other. So a marker of k garments is 100 k or 200 k mm long, and each
ply has two ends of 10 mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from itertools import combinations, product
from pathlib import Path
from threading import Event

import numpy as np
import pytest

from marker.cloth.fabric import Cost
from marker.jobfile.reading import read_job
from marker.orders.order import CutOrder, Limits
from marker.orders.planning import Aim
from marker.planning.laid_plan import LaidPlan
from marker.planning.order import Costs, PlanRequest, plan_order
from marker.planning.workers import WorkerPool
from tests.cli.commands import job_file
from tests.cli.test_order_job import SASHES

NARROW, WIDE = 400, 600
ROLLS = 'rolls = ["50 cm", "32 cm"]'


def planned(
    folder: Path,
    rolls: Mapping[str, list[tuple[int, int]]],
    wanted: Mapping[str, int],
    limits: Limits,
    lay_mm: float = 0.0,
    aim: Aim = Aim.LEAST_COST,
) -> LaidPlan:
    """rolls : colour -> (length, width) of each. wanted : colour -> garments M."""
    tables = (
        f"{colour} = [{', '.join(f'{{ length = {mm}, width = {wide} }}' for mm, wide in each)}]"
        for colour, each in rolls.items()
    )
    text = SASHES.replace(ROLLS, f"rolls = {{ {', '.join(tables)} }}")
    request = PlanRequest(
        CutOrder({colour: {"M": number} for colour, number in wanted.items()}),
        limits, None, 0, aim=aim, costs=Costs(lay=Cost(cloth_mm=lay_mm)),
    )  # fmt: skip
    stop = Event()
    with ThreadPoolExecutor(1) as executor:
        pool = WorkerPool(executor, stop, stop)
        (plan,) = plan_order(read_job(job_file(folder, text)), request, pool, stop, lambda _: None)
    demand_sound(plan, rolls, wanted, limits)
    return plan


def ply_mm(garments: int, width: int) -> int:
    """With its ends."""
    return garments * (100 if width == WIDE else 200) + 20


def demand_sound(
    plan: LaidPlan,
    rolls: Mapping[str, list[tuple[int, int]]],
    wanted: Mapping[str, int],
    limits: Limits,
) -> None:
    """Every garment cut as ordered, every ply from a roll as wide as its marker, no roll cut beyond
    its end, and every lay as long as the arithmetic says."""
    assert plan.rolls_suffice
    for colour, number in wanted.items():
        assert number == sum(
            each.lay.plies.get(colour, 0) * each.lay.garments["M"] for each in plan.lays
        )
    for each in plan.lays:
        width = round(each.marker.layout.cloth.width_mm)
        assert each.ply_mm == ply_mm(each.lay.garments["M"], width)
        assert each.lay.garments["M"] <= limits.max_garments
    for colour, shared in plan.rolls.items():
        for (length, width), parts in zip(rolls[colour], shared.parts, strict=True):
            assert sum(part.times * part.each_mm for part in parts) <= length
            assert all(plan.lays[part.lay].marker.layout.cloth.width_mm <= width for part in parts)
            assert all(part.each_mm == plan.lays[part.lay].ply_mm for part in parts)
        for at, each in enumerate(plan.lays):
            plies = sum(p.times for parts in shared.parts for p in parts if p.lay == at)
            assert plies == each.lay.plies.get(colour, 0)


def least_cost(wanted: Mapping[str, int], width: int, most: int, lay_mm: int) -> int:
    """Of cutting colours from markers of one width, by trying every set of markers."""
    if not any(wanted.values()):
        return 0
    found = []
    for count in range(1, most + 1):
        for markers in combinations(range(1, most + 1), count):
            of = [cheapest(number, markers, width) for number in wanted.values()]
            if None not in of:
                found.append(sum(each or 0 for each in of) + lay_mm * count)
    return min(found)


def cheapest(garments: int, markers: tuple[int, ...], width: int) -> int | None:
    """Cloth of plies of these markers that hold so many garments together; None of none."""
    costs: list[int | None] = [0]
    for number in range(1, garments + 1):
        before = [
            (costs[number - k] or 0) + ply_mm(k, width)
            for k in markers
            if k <= number and costs[number - k] is not None
        ]
        costs.append(min(before, default=None))
    return costs[garments]


@pytest.mark.parametrize(
    ("lay_mm", "aim", "cost", "lays"),
    [
        (0, Aim.LEAST_COST, 2 * 120 + 2 * 220, 2),  # against 4 × 220 in one lay
        (150, Aim.LEAST_COST, 680 + 2 * 150, 2),  # against 880 + 150
        (300, Aim.LEAST_COST, 880 + 300, 1),  # against 680 + 600
        (0, Aim.FEWEST_LAYS, None, 1),
    ],
)
def test_one_marker_for_all_or_one_for_each_width(
    lay_mm: int, aim: Aim, cost: int | None, lays: int, tmp_path: Path
) -> None:
    rolls = {"red": [(2000, WIDE)], "blue": [(2000, NARROW)]}
    plan = planned(tmp_path, rolls, {"red": 2, "blue": 2}, Limits(1), lay_mm, aim)
    assert len(plan.lays) == lays
    if cost is not None:
        assert plan.plan.tiers[0].value == cost
    chosen, other = plan.compared
    assert {len(chosen.colours), len(other.colours)} == {1, 2}
    assert {NARROW: ("red", "blue")} in (chosen.colours, other.colours)


def test_a_colour_with_enough_of_the_wide_rolls_is_cut_from_these(tmp_path: Path) -> None:
    rolls = {"red": [(500, WIDE)], "blue": [(2000, NARROW), (500, WIDE)]}
    plan = planned(tmp_path, rolls, {"red": 2, "blue": 2}, Limits(1))
    (lay,) = plan.lays
    assert (lay.lay.height, lay.ply_mm, plan.cloth_mm) == (4, 120, 480)


def test_a_colour_is_split_where_its_wide_rolls_do_not_suffice(tmp_path: Path) -> None:
    """Two plies of 120 mm fit the wide roll, the rest takes 220 mm: 680, not 880 mm."""
    rolls = {"blue": [(250, WIDE), (2000, NARROW)]}
    plan = planned(tmp_path, rolls, {"blue": 4}, Limits(1))
    assert (len(plan.lays), plan.cloth_mm) == (2, 2 * 120 + 2 * 220)


def test_no_more_markers_than_allowed(tmp_path: Path) -> None:
    rolls = {"red": [(2000, WIDE)], "blue": [(2000, NARROW)]}
    plan = planned(tmp_path, rolls, {"red": 2, "blue": 2}, Limits(1, max_markers=1))
    assert (len(plan.lays), plan.cloth_mm, plan.compared) == (1, 880, ())


@pytest.mark.parametrize("seed", range(6))
def test_no_choice_of_widths_costs_less(seed: int, tmp_path: Path) -> None:
    """Long rolls of three colours; every colour may be cut from any width that it comes in, or from
    narrower markers."""
    rng = np.random.default_rng(seed)
    kinds = [(WIDE,), (NARROW,), (NARROW, WIDE)]
    rolls = {
        colour: [(20_000, width) for width in kinds[int(rng.integers(3))]]
        for colour in ("red", "blue", "green")
    }
    wanted = {colour: int(rng.integers(1, 6)) for colour in rolls}
    lay_mm, most = int(rng.choice([0, 80, 200])), int(rng.integers(1, 4))
    plan = planned(tmp_path, rolls, wanted, Limits(most), lay_mm)
    best = min(
        sum(
            least_cost(
                {c: wanted[c] for c, at in chosen.items() if at == width}, width, most, lay_mm
            )
            for width in (NARROW, WIDE)
        )
        for chosen in (
            dict(zip(rolls, widths, strict=True)) for widths in product((NARROW, WIDE), repeat=3)
        )
        if all(any(wide >= chosen[c] for _, wide in rolls[c]) for c in rolls)
    )
    assert plan.plan.tiers[0].value == best
    assert plan.plan.tiers[0].bound <= best
