"""Our sweep of widths beside a printed chart's: `python -m tests.benchmarks.widths --help`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace

from marker.cloth.width_chart import WIDTHS_IN
from marker.jobfile.reading import read_job
from marker.planning.events import unheard
from marker.planning.limits import SearchLimits
from marker.planning.widths import compare_widths, main_cloth
from tests.benchmarks.folder import ROOT
from tests.benchmarks.options import positive, positive_count, words
from tests.benchmarks.run import warm_up
from tests.benchmarks.small import GARMENTS
from tests.benchmarks.table import markdown
from tests.planning.width_chart import LEAST, MOST, chart_ratios

INCH = 25.4


def main(arguments: Sequence[str] | None = None) -> None:
    """Print, for each width, the chart's own area ratios and ours of each garment."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.widths", description=__doc__)
    add = parser.add_argument
    add("--garments", type=words, default=list(GARMENTS), help="of those in pieces/")
    add("--seconds", type=positive, default=240.0, help="for all widths of a garment (default 240)")
    add("--workers", type=positive_count, default=2, help="threads of a run (default 2)")
    options = parser.parse_args(arguments)
    warm_up(options.workers)
    limits = SearchLimits(seconds=options.seconds, workers=options.workers)
    columns = {garment: _ratios(garment, limits) for garment in options.garments}
    rows = []
    for width, chart in zip(WIDTHS_IN, chart_ratios(), strict=True):
        ours = [f"{column[width]:.3f}" if width in column else "–" for column in columns.values()]
        rows.append((f"{width:g}", f"{min(chart):.3f} – {max(chart):.3f}", *ours))
    print(markdown(("width, in", "chart", *columns), rows))
    for garment, column in columns.items():
        outside = [f"{width:g} in" for width, ratio in column.items() if not LEAST <= ratio <= MOST]
        said = f"outside at {', '.join(outside)}" if outside else "inside"
        print(f"{garment}: {said} the chart's spread of {LEAST} to {MOST}")


def _ratios(garment: str, limits: SearchLimits) -> dict[float, float]:
    """Width -> area of the layout, whole width × length, ÷ that at the narrowest width."""
    job = read_job(ROOT / "pieces" / garment / "job.toml")
    cloths = {INCH * width: width for width in WIDTHS_IN}
    every = [replace(main_cloth(job), width_mm=width) for width in cloths]
    found = compare_widths(job, every, limits, unheard)
    areas = {
        cloths[each.width_mm]: each.width_mm * each.purchase.layout_mm for each in found.widths
    }
    first = areas[min(areas)]
    return {width: area / first for width, area in areas.items()}


if __name__ == "__main__":
    main()
