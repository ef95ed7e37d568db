"""Orders planned with lengths that are laid: what a table lets through, and what Ctrl-C leaves."""

from __future__ import annotations

from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from marker.job import Job
from marker.jobfile.reading import read_job
from marker.orders.order import CutOrder, Limits
from marker.placement import solve
from marker.planning.events import PlanningEvent, WorkersGone
from marker.planning.laid_plan import LaidPlan
from marker.planning.order import NoPlanOnCloth, PlanRequest, plan_order
from marker.planning.workers import WorkerPool
from tests.cli.commands import job_file
from tests.cli.test_order_job import SASHES

TABLE = Limits(2, table_mm=190)
"""Sashes of a garment M fill a row of 100 mm, those of an S two thirds of one, so it is estimated
at 67 mm. S + M, estimated at 167 mm, take two rows. With two ends of 10 mm they take 220 mm."""


@pytest.fixture(scope="module")
def sashes(tmp_path_factory: pytest.TempPathFactory) -> Job:
    return read_job(job_file(tmp_path_factory.mktemp("sashes"), SASHES))


def planned(job: Job, limits: Limits, interrupted: bool, sizes: str = "SM") -> LaidPlan:
    """One of each size, laid in a thread; the estimate is learned from the second."""
    stop = Event()
    if interrupted:
        stop.set()
    order = CutOrder({"": dict.fromkeys(sizes, 1)})
    request = PlanRequest(order, limits, None, 0, end_loss_mm=20)
    with ThreadPoolExecutor(1) as executor:
        pool = WorkerPool(executor, stop, stop)
        (plan,) = plan_order(job, request, pool, stop, lambda _: None)
    return plan


def test_a_marker_too_long_once_laid_is_planned_again(sashes: Job) -> None:
    plan = planned(sashes, TABLE, interrupted=False)
    assert plan.stable
    assert [dict(lay.garments) for lay in plan.plan.lays] == [{"S": 1}, {"M": 1}]
    assert plan.cloth_mm == 2 * 120


def test_no_plan_is_passed_off_as_fitting_the_table(sashes: Job) -> None:
    """Stopped when its only plan has turned out too long."""
    with pytest.raises(
        NoPlanOnCloth, match="in 1 round whose markers, once laid, fit a table of 19 cm"
    ):
        planned(sashes, TABLE, interrupted=True)


def test_what_ctrl_c_leaves_is_laid_and_called_unfinished(sashes: Job) -> None:
    plan = planned(sashes, Limits(2), interrupted=True)
    (lay,) = plan.plan.lays
    assert (dict(lay.plies), dict(lay.garments)) == ({"": 1}, {"S": 1, "M": 1})
    assert not plan.stable


def spread(folder: Path, keys: str, limits: Limits, sizes: dict[str, int]) -> LaidPlan:
    """Sashes on cloth with other keys in place of its rolls."""
    text = SASHES.replace('rolls = ["50 cm", "32 cm"]', keys)
    request = PlanRequest(CutOrder({"": sizes}), limits, None, 0)
    stop = Event()
    with ThreadPoolExecutor(1) as executor:
        pool = WorkerPool(executor, stop, stop)
        (plan,) = plan_order(read_job(job_file(folder, text)), request, pool, stop, lambda _: None)
    return plan


def test_lays_keep_to_wide_rolls_and_are_laid_for_them(tmp_path: Path) -> None:
    """On 40 cm a garment M takes two rows of 100 mm and two ends of 10; two plies fit the wide
    roll, where it takes one row."""
    rolls = '[{ length = "25 cm", width = "40 cm" }, { length = "45 cm" }]'
    plan = spread(tmp_path, f"rolls = {rolls}", Limits(1), {"M": 2})
    (lay,) = plan.lays
    assert (lay.marker.layout.cloth.width_mm, lay.ply_mm, plan.cloth_mm) == (600, 120, 240)
    assert plan.rolls[""].left_mm == (250, 210)
    tier = plan.plan.tiers[0]
    assert (tier.value, tier.bound) == (240, 2 * (2 * 300 * 100 // 600 + 20))


def test_plies_are_planned_to_suit_the_rolls(tmp_path: Path) -> None:
    """Three garments M take a ply of 32 cm, which no roll of 23 cm holds; two take 22 cm. Cloth
    with a repeat along is not spliced."""
    keys = 'repeat = { along = "10 cm" }, rolls = ["23 cm", "23 cm", "23 cm"]'
    plan = spread(tmp_path, keys, Limits(3), {"M": 6})
    assert plan.rolls_suffice
    assert [(lay.lay.height, lay.ply_mm) for lay in plan.lays] == [(3, 220)]


def test_of_a_table_a_ply_folded_crosswise_takes_half_its_length(tmp_path: Path) -> None:
    """A garment M is one sash cut through both plies: 100 mm, and 10 mm where both ends lie on one
    another; 220 mm of cloth."""
    keys = 'spread = "folded crosswise"'
    plan = spread(tmp_path, keys, Limits(1, table_mm=110), {"M": 2})
    assert [(lay.lay.height, lay.ply_mm) for lay in plan.lays] == [(2, 220)]
    with pytest.raises(NoPlanOnCloth) as caught:
        spread(tmp_path, keys, Limits(1, table_mm=109), {"M": 2})
    assert caught.value.problem.nearest[0].how == "has a table of 11 cm"


def test_a_tube_lies_on_the_table_in_its_length(tmp_path: Path) -> None:
    """Three sashes S, or a garment M and more, go around 60 cm."""
    plan = spread(tmp_path, "tube = true", Limits(2, table_mm=320), {"M": 2})
    assert all(lay.ply_mm <= 320 for lay in plan.lays)
    assert sum(lay.lay.cut for lay in plan.lays) == 2


class NoWorkers(Executor):
    """Never does what it is given."""

    def submit(self, *_work: object, **_named: object) -> Future[Any]:
        return Future()


@pytest.mark.parametrize("by_hand", [False, True])
def test_lost_workers_leave_a_plan_of_first_layouts(
    sashes: Job, by_hand: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a machine that never searched, too: stopped by hand, it makes no search ready."""
    order, stop = CutOrder({"": {"S": 1, "M": 1}}), Event()
    told: list[PlanningEvent] = []
    if by_hand:
        stop.set()
        monkeypatch.setattr(solve, "warm_up_search", lambda _: pytest.fail("it was made ready"))
    pool = WorkerPool(NoWorkers(), stop, stop, lost=lambda: "They are gone.")
    (plan,) = plan_order(sashes, PlanRequest(order, Limits(2), None, 0), pool, stop, told.append)
    assert (plan.lost, plan.stable) == ("They are gone.", False)
    assert [each.why for each in told if isinstance(each, WorkersGone)] == ["They are gone."]
    assert sum(lay.lay.cut for lay in plan.lays) == 2


def test_what_seems_too_long_alone_is_laid_before_it_is_refused(sashes: Job) -> None:
    """Three garments S take two rows, one takes one: 50 mm and 50 mm each. So an M, half as large
    again, is estimated at 125 mm, takes 100 mm, and 120 mm with its ends."""
    assert planned(sashes, Limits(2, table_mm=130), False, "MS").cloth_mm == 2 * 120
    with pytest.raises(NoPlanOnCloth) as caught:
        planned(sashes, Limits(2, table_mm=110), False, "MS")
    (nearest,) = caught.value.problem.nearest
    assert nearest.how == "has a table of 12 cm"
