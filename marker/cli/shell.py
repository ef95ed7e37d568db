"""What the commands share: errors become messages and exit codes, JSON goes to standard output."""

from __future__ import annotations

import functools
import json
import math
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, ParamSpec, TypeVar

import click

from marker.errors import CannotBeDone, FaultyInput, MarkerError, StoppedEarly

if TYPE_CHECKING:
    from marker.job import Job

CANNOT_BE_DONE, FAULTY, STOPPED_BY_HAND = 1, 2, 130

P = ParamSpec("P")
R = TypeVar("R")


class Number(click.types.FloatParamType):
    """A number from `least` to `most`, named in the help by what it counts.

    Whole where `least` is an int. above : `least` itself is too small. click's own ranges let "nan"
    pass, and show their bounds as formulas.
    """

    def __init__(
        self, least: float, most: float = math.inf, name: str = "number", *, above: bool = False
    ) -> None:
        self.name, self.least, self.most, self.above = name, least, most, above

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        whole = isinstance(self.least, int)
        try:
            number = int(value) if whole else float(value)
        except ValueError:
            kind = "whole number" if whole else "number"
            self.fail(f"{value!r} is no {kind}. Give {self._allowed()}.", param, ctx)
        if not self.least <= number <= self.most or (self.above and number == self.least):
            self.fail(f"{value} can't be used here. Give {self._allowed()}.", param, ctx)
        return number

    def _allowed(self) -> str:
        counts = "" if self.name == "number" else f" of {self.name}"
        kind = "whole number" if isinstance(self.least, int) else "number"
        if self.above:
            return f"a {kind} above {self.least:g}, at most {self.most:g}"
        if self.most == math.inf:
            return f"a {kind} of {self.least:g} or more"
        return f"a {kind}{counts} from {self.least:g} to {self.most:.0f}"


SECONDS = Number(0.0, 86_400, "seconds")


_LENGTHS = "marker.lengths"


def _length(ctx: click.Context, _param: click.Parameter, text: str | None) -> float | None:
    from marker.units import NotALength, parse_length

    if text is not None:
        ctx.meta.setdefault(_LENGTHS, []).append(text)
    try:
        mm = None if text is None else parse_length(text)
    except NotALength as error:
        raise click.BadParameter(str(error)) from error
    if mm is not None and mm <= 0:
        raise click.BadParameter(f"{text!r} is not more than nothing")
    return mm


def length_option(name: str, help: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """An option that takes a length above 0 with its unit and hands it on in mm."""
    return click.option(name, callback=_length, metavar="LENGTH", help=help)


def show_as_given() -> None:
    """From here on lengths are written as most of those that the command was given: in inches, say.

    For a command without a job.
    """
    from marker.units import Systems, show_for, show_from_here

    given: list[str] = click.get_current_context().meta.get(_LENGTHS, [])
    show_from_here(show_for(Systems.BOTH, given))


as_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
seed = click.option("--seed", type=Number(0), default=0, show_default=True)
WORKERS = "as many as cores, one fewer of more than two"


def _usual_workers() -> int:
    from marker.planning.limits import usual_workers

    return usual_workers()


workers = click.option(
    "--workers",
    type=Number(1, 64),
    default=_usual_workers,
    help=f"Cores that search; {WORKERS}, unless given. A layout depends on how many: say it to "
    "have the same one on another machine.",
)
quiet = click.option("--quiet", is_flag=True, help="No progress on standard error.")
out_folder = click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write to; outputs/ and the name of the job unless given.",
)
reader = click.option(
    "--for",
    "reader",
    metavar="READER",
    help="Whom the sheets are for, 'sewing' or 'cutting room', whatever the job says. A cutting "
    "room reads marker efficiency and bounds.",
)


def exits_plainly(command: Callable[P, R]) -> Callable[P, R]:
    """Turn this project's errors, and the system's, into messages and an exit code."""

    @functools.wraps(command)
    def wrapped(*args: P.args, **kwargs: P.kwargs) -> R:
        from marker.units import show_lengths, shown

        try:
            with show_lengths(shown()):  # a job read within says how its lengths are written
                _letters_note()  # of a command before this one in the same process
                done = command(*args, **kwargs)
                if note := _letters_note():
                    say(f"note: {note}", err=True)
                return done
        except FaultyInput as error:
            leave([str(fault) for fault in error.faults], FAULTY)
        except StoppedEarly as error:
            leave([str(error)], STOPPED_BY_HAND)
        except CannotBeDone as error:
            leave([str(error) + _where(error)], CANNOT_BE_DONE)
        except MarkerError as error:
            leave([str(error)], CANNOT_BE_DONE)
        except BrokenPipeError:
            raise  # whoever read what is printed has gone
        except OSError as error:
            said = f"it can't be used ({error.strerror or error})"
            leave([f"{error.filename or 'a file'}: {said}. Check its name and folder."], FAULTY)

    return wrapped


_JOB = "marker.job"


def _where(error: CannotBeDone) -> str:
    """A line that says where the job file of this command says what the error is about."""
    path: Path | None = click.get_current_context().meta.get(_JOB)
    if path is None or not error.about:
        return ""
    from marker.jobfile.reading import places_in

    return f"\nSee {'; '.join(places)}." if (places := places_in(path, error.about)) else ""


def _letters_note() -> str:
    """What is to be said of letters that no drawing could have, if anything was drawn."""
    if "marker.canvas.fonts" not in sys.modules:
        return ""
    from marker.canvas.fonts import lost_letters_note

    return lost_letters_note()


def read_shown(path: Path) -> Job:
    """The job of a file, all lengths written as it asks for from here on; what can't be done with
    it is told with its places. Raises FaultyInput."""
    from marker.jobfile.reading import read_job
    from marker.units import show_from_here

    job = read_job(path)
    click.get_current_context().meta[_JOB] = path
    show_from_here(job.show)
    return job


def leave(lines: list[str], code: int) -> NoReturn:
    """End with these lines on standard error, and an exit code."""
    for line in lines:
        say(f"marker: {line}", err=True)
    sys.exit(code)


def say(text: str, *, err: bool = False) -> None:
    """Lines for a person. What a name or a file holds is never obeyed by the terminal."""
    from marker.words import printable

    click.echo(printable(text), err=err)


def print_json(data: dict[str, Any]) -> None:
    """One JSON object on standard output; what no terminal shows is spelled as JSON does."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    if not text.isprintable():
        text = "".join(c if c.isprintable() else json.dumps(c)[1:-1] for c in text)
    click.echo(text)
