"""What the commands do with layouts: judge stored ones again; keep, draw and tell those found."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli.shell import print_json, say
from marker.errors import FaultyInput

if TYPE_CHECKING:
    from marker.cli.running import Reporter, StopSignals
    from marker.cloth.fabric import Cloth
    from marker.job import Job
    from marker.jobfile.stored import LayoutOfJob
    from marker.layout import CheckedLayout, Layout, PieceKey
    from marker.outputs.layouts import LayoutFolder, StandingLayout
    from marker.planning.by_hand import LayoutByHand
    from marker.planning.laid_cloth import LaidCloth
    from marker.reports.layout import LaidReport

_MOST_NAMED = 20  # numbers, in a sentence


def checked_again(path: Path) -> tuple[LayoutOfJob, CheckedLayout]:
    """A layout file beside its job, and its layout after another pass through the judge. Says so on
    standard error where the job has changed and the layout is sound for it all the same.

    Raises FaultyInput for either file, JudgeRefused for a layout that is no longer sound.
    """
    from marker.jobfile.stored import layout_of_job
    from marker.units import show_from_here

    found = layout_of_job(path)
    show_from_here(found.job.show)
    checked = found.checked()
    if found.changed:
        say(f"note: {found.changed} It is still sound for the job as it is now.", err=True)
    return found, checked


def taken_up(path: Path, job: Job | None = None) -> LayoutByHand:
    """A stored layout to be changed by hand, with those on the other remnants of its cloth.

    job : that it must lay; the one it names unless given. Raises FaultyInput for a layout file of
    another job, CannotBeDone where the job has changed.
    """
    from marker.errors import CannotBeDone, Fault
    from marker.jobfile.stored import layout_of_job
    from marker.planning.by_hand import by_hand, task_by_hand
    from marker.planning.tasks import loads
    from marker.units import show_from_here

    found = layout_of_job(path)
    show_from_here(found.job.show)
    if job is not None and found.job.name != job.name:
        problem = f"this is a layout of {found.job.name}, not of {job.name}"
        raise FaultyInput([Fault(str(path), problem, "Name a layout of the job that is laid")])
    if found.changed:
        raise CannotBeDone(found.changed)
    layouts = [each.layout for each in found.checked_together()]
    (load,) = loads(found.job, [_whole_cloth(found.job, layouts[0])])
    return by_hand(task_by_hand(load, layouts[0].spread.spreading), layouts)


def _whole_cloth(job: Job, layout: Layout) -> Cloth:
    """The cloth as it was laid; all of its remnants where the layout lies on one."""
    cloth = layout.cloth
    if cloth.remnant is None:
        return cloth
    return next(each for each in job.cloths if each.name == cloth.name)


@dataclass(frozen=True)
class NumberedPiece:
    """A piece of the diagram. number : there.

    placed_mm : where it lies, as the diagram lists it: its edge from the start line, its grain line
        or fold from the near edge.
    """

    number: int
    key: PieceKey
    placed_mm: tuple[float, float]


class NumberedPieces:
    """The pieces of a layout by their numbers in the diagram."""

    def __init__(self, pieces: Mapping[int, NumberedPiece]) -> None:
        self._pieces = pieces

    def piece(self, number: int) -> NumberedPiece:
        """The piece of this number; raises UsageError where there is none."""
        if number not in self._pieces:
            last = max(self._pieces)
            lacking = sorted({*range(1, last + 1)} - {*self._pieces})
            named = ", ".join(map(str, lacking[:_MOST_NAMED]))
            named += " and others" if len(lacking) > _MOST_NAMED else ""
            but = f" without {named}" if lacking else ""
            said = f"the diagram numbers them 1 to {last}{but}."
            raise click.UsageError(f"there is no piece {number}: {said}")
        return self._pieces[number]

    def has(self, key: PieceKey) -> bool:
        """Whether this piece is one of them."""
        return any(each.key == key for each in self._pieces.values())

    def of(self, key: PieceKey) -> NumberedPiece:
        """A piece that is one of them."""
        return next(each for each in self._pieces.values() if each.key == key)

    def key(self, number: int) -> PieceKey:
        """Which piece has this number; raises UsageError."""
        return self.piece(number).key


def numbered_by_remnant(hand: LayoutByHand) -> dict[str, NumberedPieces]:
    """Remnant by name -> the pieces on its diagram; "" for a cloth that is no remnants."""
    cloths = [(each, each.layout.cloth.remnant) for each in hand.checked()]
    return {on.name if on else "": numbered_pieces(each) for each, on in cloths}


def numbered_pieces(checked: CheckedLayout) -> NumberedPieces:
    """The pieces as the diagram numbers them."""
    from marker.drawing.scene.layout_scene import build_scene
    from marker.layout import PieceKey
    from marker.layout.bought import purchase_for

    scene = build_scene(checked, purchase_for(checked))
    return NumberedPieces(
        {
            each.number: NumberedPiece(
                each.number,
                PieceKey(each.name, each.size, each.garment or 1, each.copy),
                (each.placing.from_start_mm[0], each.placing.from_selvage_mm[0]),
            )
            for each in scene.pieces
        }
    )


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
    from marker.cli.running import LeftOut
    from marker.reports.layout import LaidReport

    try:
        standing = folder.store(laid, replace=replace, any_spread=any_spread)
    except FaultyInput:
        _rescue(folder, laid)
        raise
    for each in standing:
        _say_standing(each, reporter)
    if signals.stopped.is_set():
        reporter.say("stopped: the best layout is written. Ctrl-C again leaves its drawings out")
    try:
        with signals.may_be_left_out():
            reporter.say("drawing")
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
        LaidReport(each.laid, each.table, own, each.longer, folder.reader)
        for each, own in zip(standing, files, strict=True)
    ]


def _rescue(folder: LayoutFolder, laid: Sequence[LaidCloth]) -> None:
    """Put what its own folder can't take where there is room, and say where."""
    try:
        paths = folder.rescue(laid)
    except (OSError, FaultyInput) as error:
        say(f"marker: the layout is lost: no temporary folder takes it either ({error}).", err=True)
        return
    kept, job = ", ".join(map(str, paths)), shlex.quote(str(folder.job_path))
    out, there = f"--out {shlex.quote(str(folder.folder))}", shlex.quote(str(paths[0].parent))
    back = ", ".join(
        f"`marker lay {job} --keep {shlex.quote(str(path))} --iterations 0 {out}`" for path in paths
    )
    say(
        f"marker: {folder.folder} can't take the layout, so it is kept in {kept}. "
        f"Print or export it from there; `marker layouts {job} --out {there}` lists it. "
        f"The system may remove it at its next start. Once there is room, take it back: {back}.",
        err=True,
    )


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
