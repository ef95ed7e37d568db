"""The results as a Markdown table, published figures beside our own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from math import inf
from statistics import mean, median_high

from tests.benchmarks.published import PUBLISHED
from tests.benchmarks.run import Run

SHARES = (0.95, 0.98, 1.0)
_HEAD = (
    "instance", "runs", "best", "mean", "worst",
    "before 2025", "published mean", "published best", "mean less published",
    "s to 95 %", "98 %", "100 %", "first, s", "peak MB", "judged",
)  # fmt: skip


def quality_table(runs: Sequence[Run]) -> str:
    """One row an instance; runs of an instance are next to each other."""
    rows = [_row(name, list(group)) for name, group in groupby(runs, key=lambda run: run.name)]
    return markdown(_HEAD, rows)


def markdown(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A Markdown table, every row with as many cells as the head."""
    return "\n".join(markdown_row(cells) for cells in (head, ["-" for _ in head], *rows))


def markdown_row(cells: Sequence[str]) -> str:
    """One line of a Markdown table."""
    return f"| {' | '.join(cells)} |"


def seconds_to(run: Run, density: float) -> float:
    """When the run reached a density, infinity if never."""
    return next((seconds for seconds, reached in run.history if reached >= density), inf)


def _row(name: str, runs: list[Run]) -> list[str]:
    densities = [run.density for run in runs]
    passed = sum(run.judged for run in runs)
    return [
        name,
        str(len(runs)),
        *(f"{figure:.2f}" for figure in (max(densities), mean(densities), min(densities))),
        *_compared(name, mean(densities)),
        *_times(name, runs),
        f"{max(run.first_seconds for run in runs):.2f}",
        f"{max(run.peak_memory_mb for run in runs):.0f}",
        "all" if passed == len(runs) else f"{passed} OF {len(runs)}",
    ]


def _compared(name: str, ours: float) -> Iterator[str]:
    known = PUBLISHED.get(name)
    if known is None:
        yield from ("–",) * 4
        return
    for figure in (known.floor, known.mean_2025, known.best):
        yield "–" if figure is None else f"{figure:.2f}"
    yield "–" if known.mean_2025 is None else f"{ours - known.mean_2025:+.2f}"


def _times(name: str, runs: list[Run]) -> Iterator[str]:
    """Median over the runs, one that never got there counted as the slowest of all."""
    known = PUBLISHED.get(name)
    for share in SHARES:
        if known is None:
            yield "–"
            continue
        seconds = median_high(seconds_to(run, share * known.reference) for run in runs)
        yield "–" if seconds == inf else f"{seconds:.1f}"
