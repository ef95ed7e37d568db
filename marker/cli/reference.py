"""`marker reference`: what a job file may say, and what commands print as JSON."""

from __future__ import annotations

import click

from marker.cli.shell import exits_plainly


@click.command()
@click.argument("name", nargs=-1, metavar="[KEY or TOPIC]")
@click.option("--schema", is_flag=True, help="Print the JSON Schema, for editors, instead.")
@exits_plainly
def reference(name: tuple[str, ...], schema: bool) -> None:
    """Print what a job file may say: all of it, or a KEY such as cloth.nap, or a TOPIC.

    `marker reference json COMMAND` prints what the command's --json holds.
    """
    from marker.jobfile.editor_schema import editor_schema_text
    from marker.jobfile.reference import reference as text

    if schema:
        click.echo(editor_schema_text(), nl=False)
    elif name and name[0] == "json":
        click.echo(_contract(" ".join(name[1:])))
    else:
        click.echo(text(" ".join(name)))


def _contract(command: str) -> str:
    from marker.reports.contracts import contract, report_types

    known = report_types()
    if command not in known:
        said = f"name one of the commands that print JSON: {', '.join(known)}"
        raise click.UsageError(said)
    return "\n".join(contract(command, known[command]))
