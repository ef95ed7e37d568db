"""`marker new`: a commented starter job, or a garment drafted from measures."""

from __future__ import annotations

from pathlib import Path

import click

from marker.cli.measures import TakesMeasures, garment_option, measures_given, size_option
from marker.cli.shell import as_json, exits_plainly, print_json, say


@click.command(cls=TakesMeasures)
@click.argument("name", required=False)
@garment_option
@size_option
@click.option("--sizes", metavar="36,38,40", help="Sizes to draft. One of each is ordered.")
@click.option("--garments", is_flag=True, help="List the garments with their measures and options.")
@click.option(
    "--out", type=click.Path(path_type=Path), help="With --garments: draw their pieces there, too."
)
@as_json
@exits_plainly
def new(
    name: str | None,
    garment: str | None,
    size: str | None,
    sizes: str | None,
    garments: bool,
    out: Path | None,
    as_json: bool,
) -> None:
    """Write a job NAME/job.toml that runs as it is.

    Without --garment it is a commented starter job. With --garment it is that garment, drafted from
    the measures given, as in: marker new skirt --garment "half circle skirt" --waist "74 cm".
    """
    if garments:
        _list_garments(out, as_json)
        return
    if out is not None:
        raise click.UsageError("--out needs --garments. A job is written to the folder NAME.")
    if name is None:
        raise click.UsageError("Missing argument 'NAME'.")
    if garment is None and (size or sizes):
        raise click.UsageError("--size and --sizes need a --garment to draft.")
    from marker.jobfile.writing import JOB

    folder = Path(name)
    path = folder / JOB
    files = _write(folder, _files(folder.name, garment, size, sizes))
    if as_json:
        print_json({"files": [str(file) for file in files]})
    else:
        say(f"Wrote {path}. Change it to your own pattern, then: marker lay {path}")
        if sizes:
            say("It orders one garment of each size; [order] in it says how many.")
        say("All that a job can say: marker reference")


def _files(name: str, garment: str | None, size: str | None, sizes: str | None) -> dict[str, str]:
    from marker.jobfile.new_job import garment_files, starter_job
    from marker.jobfile.writing import JOB

    if garment is None:
        return {JOB: starter_job(name)}
    return garment_files(garment, name, measures_given(), size, sizes or "")


def _write(folder: Path, files: dict[str, str]) -> list[Path]:
    from marker.errors import Fault, FaultyInput
    from marker.files.reading import is_there
    from marker.outputs.jobs import write_job

    taken = [folder / file for file in files if is_there(folder / file)]
    if taken:
        problem = "there is a job already" if taken[0].suffix == ".toml" else "it is there already"
        raise FaultyInput([Fault(str(taken[0]), problem, "Choose another name")])
    return write_job(folder, files, "new")


def _list_garments(out: Path | None, as_json: bool) -> None:
    from marker.reports.facts import to_json
    from marker.reports.garments import garment_lines, garments_report

    report = garments_report(_draw_garments(out) if out else ())
    if as_json:
        print_json(to_json(report))
    else:
        say("\n".join(garment_lines(report)))


def _draw_garments(folder: Path) -> tuple[str, ...]:
    from marker.files.writing import output_folder
    from marker.outputs.drawings import write_garments

    with output_folder(folder):
        return tuple(str(path) for path in write_garments(folder))
