"""`marker lay`: lay the pieces of a job, check the layout, say what to buy, draw it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from marker.cli.shell import STOPPED_BY_HAND, as_json, exits_plainly, print_json

if TYPE_CHECKING:
    from marker.cli.progress import Reporter
    from marker.layout import CheckedLayout
    from marker.plan import Limits, Task

DEFAULT_SECONDS = 30.0


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--seconds",
    type=click.FloatRange(min=0, max=86_400),
    help=f"Search this long; {DEFAULT_SECONDS:.0f} unless --iterations is given.",
)
@click.option("--iterations", type=click.IntRange(min=0), help="Search this many iterations.")
@click.option("--seed", type=click.IntRange(min=0), default=0, show_default=True)
@click.option("--workers", type=click.IntRange(1, 64), default=2, show_default=True)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write to; outputs/ and the name of the job unless given.",
)
@click.option("--quiet", is_flag=True, help="No progress on standard error.")
@as_json
@exits_plainly
def lay(
    job: Path,
    seconds: float | None,
    iterations: int | None,
    seed: int,
    workers: int,
    out: Path | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Lay the pieces of JOB on their cloth; write the layout and its diagram, say what to buy.

    The same seed, iterations and workers give the same layout. Ctrl-C keeps the best so far.
    """
    from marker import plan
    from marker.cli.progress import Reporter
    from marker.files.job import read_job
    from marker.files.writing import output_folder

    if seconds is None and iterations is None:
        seconds = DEFAULT_SECONDS
    read = read_job(job)
    work = plan.tasks(read)
    limits = plan.Limits(seconds, iterations, seed, workers)
    with output_folder(out or Path("outputs") / _slug(read.name)) as folder:
        results = [_lay_one(task, limits, Reporter(task.cloth.name, quiet)) for task in work]
        prefixes = _prefixes([task.cloth.name for task in work])
        reports = [
            _write(checked, job, folder, prefix)
            for checked, prefix in zip(results, prefixes, strict=True)
        ]
    _say(results, reports, as_json)
    if any(checked.layout.stopped_because == plan.BY_HAND for checked in results):
        raise SystemExit(STOPPED_BY_HAND)


def _lay_one(task: Task, limits: Limits, reporter: Reporter) -> CheckedLayout:
    from marker import plan
    from marker.placement.compiled import is_compiled

    if not is_compiled():
        reporter.say("preparing the search for its first use; this takes half a minute, once")
    try:
        return plan.lay(task, limits, reporter)
    finally:
        reporter.finish()


def _write(checked: CheckedLayout, job: Path, folder: Path, prefix: str) -> dict[str, Any]:
    """Write one cloth's layout and diagram; the layout as a dict, with the files written."""
    from marker.cloth.buying import purchase
    from marker.drawing.diagram import render_diagram
    from marker.files.layout_json import layout_to_dict, write_layout
    from marker.files.writing import write_atomically

    buy = purchase(checked.layout.length_mm, checked.layout.cloth)
    data = layout_to_dict(checked, buy.as_dict())
    paths = [folder / f"{prefix}layout.json"]
    write_layout(paths[0], data, job)
    for name, content in render_diagram(checked, buy).items():
        paths.append(folder / f"{prefix}{name}")
        write_atomically(paths[-1], content)
    _remove_old_pages(folder, prefix, paths)
    return data | {"files": [str(path) for path in paths]}


def _remove_old_pages(folder: Path, prefix: str, written: Sequence[Path]) -> None:
    """An earlier diagram of other pages goes: nobody should cut by one of them."""
    page = re.compile(re.escape(prefix) + r"diagram(-\d+)?\.(png|svg)")
    for path in set(folder.iterdir()) - set(written):
        if page.fullmatch(path.name) and path.is_file():
            path.unlink()


def _say(results: list[CheckedLayout], reports: list[dict[str, Any]], as_json: bool) -> None:
    """The main cloth's layout as one JSON object, the other cloths' within it; or lines."""
    from marker.cli.report import CAUTION, layout_lines
    from marker.cloth.buying import purchase

    if as_json:
        print_json(reports[0] | {"other_cloths": reports[1:]})
        return
    for checked, report in zip(results, reports, strict=True):
        lines = layout_lines(checked, purchase(checked.layout.length_mm, checked.layout.cloth))
        click.echo("\n".join(lines))
        click.echo("".join(f"  wrote  {path}\n" for path in report["files"]))
    click.echo(CAUTION)


def _prefixes(cloths: Sequence[str]) -> list[str]:
    """What the file names of each cloth begin with: nothing for the first, then the cloth's name,
    numbered where two names differ only in what a file name can't show."""
    slugs = [_slug(name) for name in cloths[1:]]
    numbered = [
        slug if slug not in slugs[:k] else f"{slug}_{k + 2}" for k, slug in enumerate(slugs)
    ]
    return ["", *(f"{slug}-" for slug in numbered)]


def _slug(name: str) -> str:
    """A name as a plain file name."""
    return re.sub(r"[^\w-]+", "-", name.lower()).strip("-") or "job"
