"""Several searches of one long marker: what they gain adds up."""

from __future__ import annotations

from dataclasses import replace

import pytest

from marker import judge
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout, Layout
from marker.placement.search.windows import ALONE, Share
from marker.planning.events import unheard
from marker.planning.heats import Heats, joined
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import LayingTask, loads, spread
from tests.cli.commands import job_file
from tests.planning.test_workers import TRIANGLES

SEARCHES = 3


@pytest.fixture(scope="module")
def long_job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """36 gussets on a narrow cloth: many widths long."""
    text = TRIANGLES.replace('width = "150 cm"', 'width = "30 cm"')
    assert text != TRIANGLES
    job = read_job(job_file(tmp_path_factory.mktemp("gussets"), text))
    return job.with_order({"38": 18})


def search(job: Job, begun: Layout | None, share: Share, iterations: int) -> CheckedLayout:
    return lay_task(_task(job), SearchLimits(None, iterations, 3, 1), unheard, "", begun, share)


def _task(job: Job) -> LayingTask:
    (load,) = loads(job, [job.cloths[0]])
    return spread(load)


@pytest.fixture(scope="module")
def first(long_job: Job) -> CheckedLayout:
    return search(long_job, None, ALONE, 0)


@pytest.fixture(scope="module")
def shares(long_job: Job, first: CheckedLayout) -> list[CheckedLayout]:
    return [
        search(long_job, first.layout, Share(number, SEARCHES), 4) for number in range(SEARCHES)
    ]


def gained(first: CheckedLayout, laid: CheckedLayout) -> float:
    return first.layout.length_mm - laid.layout.length_mm


def test_what_each_search_gains_adds_up(first: CheckedLayout, shares: list[CheckedLayout]) -> None:
    gains = [gained(first, each) for each in shares]
    assert sum(gain > 0.1 for gain in gains) >= 2
    assert gained(first, joined(first, shares)) == pytest.approx(sum(gains), abs=1e-6)


def test_the_shortest_stays_where_searches_moved_the_same_pieces(
    first: CheckedLayout, shares: list[CheckedLayout]
) -> None:
    best = max(shares, key=lambda each: gained(first, each))
    assert joined(first, [best, best]) is best
    assert joined(first, []) is first


def test_what_the_judge_refuses_is_not_put_together(
    first: CheckedLayout, shares: list[CheckedLayout], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> CheckedLayout:
        raise judge.JudgeRefused([])

    best = min(shares, key=lambda each: each.layout.length_mm)
    monkeypatch.setattr(judge, "check", refuse)
    assert joined(first, shares) is best


def test_searches_of_a_long_marker_share_its_best_layout(
    first: CheckedLayout, shares: list[CheckedLayout]
) -> None:
    heats = Heats(1)
    assert {each.start.begun for each in heats.begin(0, SEARCHES)} == {None}
    heats.end([(each, first) for each in heats.begin(0, SEARCHES)])
    begun = heats.begin(1, SEARCHES)
    assert [each.start.share for each in begun] == [Share(n, SEARCHES) for n in range(SEARCHES)]
    heats.end(list(zip(begun, shares, strict=True)))
    assert gained(first, heats.best[0][0]) == gained(first, joined(first, shares))


def test_what_is_proven_rests(first: CheckedLayout) -> None:
    heats = Heats(1)
    layout = replace(first.layout, length_lower_bound_mm=first.layout.length_mm)
    proven = judge.check(layout, first.cut_pieces, first.garments)
    heats.end([(heats.begin(0, SEARCHES)[0], proven)])
    assert heats.begin(1, SEARCHES) == []
