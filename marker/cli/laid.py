"""What the commands do with layouts once they are found: keep, draw and describe them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from marker.cli.interrupt import LeftOut, StopSignals
from marker.cli.shell import print_json, say
from marker.errors import FaultyInput

if TYPE_CHECKING:
    from marker.cli.progress import Reporter
    from marker.outputs.layouts import LayoutFolder, StandingLayout
    from marker.planning.laid_cloth import LaidCloth
    from marker.reports.layout import LaidReport


def store_and_draw(
    folder: LayoutFolder,
    laid: Sequence[LaidCloth],
    signals: StopSignals,
    reporter: Reporter,
    *,
    replace: bool,
    any_spread: bool = False,
) -> list[LaidReport]:
    """Layouts first, then their drawings, which an impatient hand leaves out."""
    from marker.reports.layout import LaidReport

    standing = folder.store(laid, replace=replace, any_spread=any_spread)
    for each in standing:
        _say_standing(each, reporter)
    if signals.stopped.is_set():
        reporter.say("stopped: the best layout is written. Ctrl-C again leaves its drawings out")
    reporter.say("drawing")
    try:
        with signals.may_be_left_out():
            drawings = folder.drawings(standing)
        files = folder.put(standing, drawings)
    except LeftOut:
        reporter.say("the drawings are left out; `marker lay --iterations 0` draws them")
        files = [(each.path,) for each in standing]
    except FaultyInput:
        kept = ", ".join(str(each.path) for each in standing)
        say(f"marker: the layout is kept in {kept}; its drawings are not written:", err=True)
        raise
    return [
        LaidReport(each.laid, each.table, own, each.longer)
        for each, own in zip(standing, files, strict=True)
    ]


def _say_standing(standing: StandingLayout, reporter: Reporter) -> None:
    from marker.units import length

    if standing.longer is not None:
        new, old = (each.checked.layout.length_mm for each in (standing.longer, standing.laid))
        reporter.say(
            f"{standing.laid.name}: the earlier layout stays. It is {length(old)} long, the new "
            f"one {length(new)}: that is kept in {standing.kept}. --replace lets it stand"
        )


def say_layouts(reports: Sequence[LaidReport], as_json: bool) -> None:
    """The layouts as one JSON object, or as lines."""
    from marker.reports.layout import layouts_to_json

    if as_json:
        print_json(layouts_to_json(reports))
    else:
        say("\n".join(line for report in reports for line in report.lines()))


def folder_of(layout: Path) -> Path:
    """The folder of the job that a layout file, or one that is kept, belongs to."""
    from marker.outputs.layouts import KEPT

    return layout.parent.parent if layout.parent.name == KEPT else layout.parent
