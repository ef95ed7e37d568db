"""A new job: the commented one that runs as it is, or a garment as a person asks for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from marker.blocks.body import MEASURES, SIZES, Body, contradictions
from marker.blocks.catalogue import GARMENTS
from marker.blocks.curve import CannotBeDrafted
from marker.blocks.garment import Drafted, Garment
from marker.blocks.options import CLOTH_WIDTH, Kind, Option
from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.files.faults import nearest
from marker.files.toml_edits import quoted
from marker.files.values import name_fault
from marker.job import Job
from marker.jobfile.adding import Rectangle, copies_told, with_piece
from marker.jobfile.drafted import drafted_files, job_of
from marker.jobfile.editing import JobText, Value
from marker.jobfile.writing import JOB, USUAL_SELVAGE_MM
from marker.units import MM_PER_UNIT, NotALength, cut_length, parse_length, shown
from marker.words import ONE_SIZE

_OWN_SIZE = "own"  # the size of a job drafted from a body's own measures
_STARTER_NAME = 'name = "choir tabard"'
_GIRTHS = ("bust", "waist", "hip")
_USUAL_SAMPLE = "38"


def starter_job(name: str) -> str:
    """Text of a job file that runs as it is, called `name`; raises FaultyInput for a bad name."""
    checked_name(name)
    text = files("marker.jobfile").joinpath("starter.toml").read_text(encoding="utf-8")
    return text.replace(_STARTER_NAME, f"name = {quoted(name)}", 1)


_FIRST = """\
# Begun with a rectangle. `marker reference` says what else a job can hold.
name = {name}
size = {size}

[order]
{size} = 1

[cloth.{cloth}]
width = {width}
selvage = {selvage}  # lost along each edge
nap = "one way"  # which way pieces may point; "either way" where it looks the same upside down
"""


@dataclass(frozen=True)
class FirstPiece:
    """What a job of rectangles begins with, each text as typed."""

    cloth: str
    width: str
    name: str
    cut: str
    rectangle: Rectangle


def rectangle_job(name: str, first: FirstPiece) -> str:
    """Text of a job of one rectangle, to which others are added; raises FaultyInput."""
    checked_name(name)
    told = {"name": name, "size": ONE_SIZE, "cloth": first.cloth.strip(), "width": first.width}
    texts = {key: quoted(value) for key, value in told.items()}
    text = _FIRST.format(**texts, selvage=quoted(f"{USUAL_SELVAGE_MM / 10:g} cm"))
    count = copies_told(first.cut)
    said: dict[str, Value] = {"name": first.name.strip(), "cut": count, **first.rectangle.table()}
    if count == 1:
        del said["cut"]
    job = with_piece(JobText(Path(JOB), text, text, ()), said)
    if job.faults:
        raise FaultyInput(job.faults)
    return job.text


def checked_name(name: str) -> None:
    """Raise FaultyInput for what can't be the name of a job."""
    fault = name_fault(name)
    if fault:
        raise FaultyInput([Fault("the name of the new job", *fault)])


def drafted_as_asked(
    garment: str, given: Mapping[str, str], size: str | None, sizes: Sequence[str]
) -> Drafted:
    """The garment of that name drafted from texts.

    given : name of a measure or an option of the garment, with hyphens -> its text. size : the
    sample size. sizes : all that the pattern comes in, none for the sample alone. Raises
    FaultyInput with every fault.
    """
    if garment not in GARMENTS:
        problem = f"there is no garment called '{garment}'"
        raise FaultyInput([Fault("--garment", problem, nearest(garment, GARMENTS))])
    asked = _Asked(GARMENTS[garment])
    values, measures = asked.read(given)
    bodies = asked.bodies(measures, size, tuple(sizes))
    if asked.faults:
        raise FaultyInput(asked.faults)
    sample = size if size in bodies else list(bodies)[len(bodies) // 2]
    try:
        return asked.garment.drafted(bodies, sample, values)
    except CannotBeDrafted as error:
        raise FaultyInput([Fault(f"--garment '{garment}'", error.problem, error.remedy)]) from error


def garment_files(
    garment: str, title: str, given: Mapping[str, str], size: str | None, sizes: str
) -> dict[str, str]:
    """The files of a new job, called `title`, of a garment drafted from texts, by name -> text. It
    orders one garment of each of the sizes.

    sizes : as in '36, 38, 40', '' for one size. Raises FaultyInput with every fault.
    """
    checked_name(title)
    listed = [each.strip() for each in sizes.split(",")] if sizes.strip() else []
    drafted = drafted_as_asked(garment, given, size, listed)
    return drafted_files(drafted, title, shown().lead, each_size=True)


def depends_on_width(garment: str, given: Mapping[str, str]) -> bool:
    """Whether a garment of the catalogue is drafted for a width of cloth that is not given."""
    known = GARMENTS[garment].known_options if garment in GARMENTS else {}
    return CLOTH_WIDTH in known and CLOTH_WIDTH not in {name.replace("-", "_") for name in given}


def job_for_width(garment: str, given: Mapping[str, str], size: str | None, width_mm: float) -> Job:
    """The job of a garment drafted for cloth of this width.

    Raises CannotBeDone where it can't be drafted for it.
    """
    try:
        asked = dict(given) | {CLOTH_WIDTH.replace("_", "-"): f"{width_mm:.10g} mm"}
        return job_of(drafted_as_asked(garment, asked, size, []), garment)
    except FaultyInput as error:
        raise CannotBeDone(str(error)) from error


class _Asked:
    """What is asked of one garment; faults gather in `faults`."""

    def __init__(self, garment: Garment) -> None:
        self.garment = garment
        self.faults: list[Fault] = []

    def read(self, given: Mapping[str, str]) -> tuple[dict[str, float | str], dict[str, float]]:
        """Options by name as values, and measures of the body in mm, those without fault."""
        options, known = self.garment.known_options, self._names()
        values: dict[str, float | str] = {}
        measures: dict[str, float] = {}
        for name, text in given.items():
            key, place = name.replace("-", "_"), f"--{name} '{text}'"
            if key in options:
                value = self._option(options[key], text, place)
                if value is not None:
                    values[key] = value
            elif key in known:
                mm = self._measure(key, text, place)
                if mm is not None:
                    measures[key] = mm
            else:
                problem = f"the {self.garment.name} has no measure or option '{name}'"
                names = [each.replace("_", "-") for each in (*known, *options)]
                self._add(f"--{name}", problem, nearest(name, names))
        return values, measures

    def _names(self) -> tuple[str, ...]:
        """Measures that it may be given: its own, and a girth that others can be taken from."""
        own = self.garment.measures
        return (*own, *(girth for girth in _GIRTHS if own and girth not in own))

    def bodies(
        self, measures: Mapping[str, float], size: str | None, sizes: tuple[str, ...]
    ) -> dict[str, Body]:
        """Size -> the body to draft for."""
        if not self.garment.measures:
            return self._of_no_body(size, sizes)
        unknown = [each for each in (*sizes, *filter(None, [size])) if each not in SIZES]
        for name in dict.fromkeys(unknown):
            place = "--sizes" if name in sizes else "--size"
            self._add(place, f"there is no size '{name}'", nearest(name, SIZES))
        if size is not None and sizes and size not in sizes:
            self._add("--size", f"'{size}' is not one of the sizes", f"Give {', '.join(sizes)}")
        if sizes and measures:
            problem = "the measures are those of one body, and several sizes are asked for"
            self._add("--sizes", problem, "Leave out the sizes, or the measures")
        if unknown or (sizes and measures):
            return {}
        if sizes:
            return {each: Body.of_size(each) for each in sorted(sizes, key=list(SIZES).index)}
        return self._one_body(measures, size)

    def _one_body(self, measures: Mapping[str, float], size: str | None) -> dict[str, Body]:
        """The body measured; what is not given is that of the size, or goes with a girth given."""
        self._contradict(measures)
        if size is not None:
            table = {name: getattr(Body.of_size(size), name) for name in MEASURES}
            return {size if not measures else _OWN_SIZE: Body.like(table | dict(measures))}
        if any(girth in measures for girth in _GIRTHS):
            return {_OWN_SIZE: Body.like(measures)}
        wanted = next(name for name in self.garment.measures if name in _GIRTHS)
        if not self.faults:
            place = f"--garment '{self.garment.name}'"
            problem = f"it needs the body's {wanted}"
            self._add(
                place, problem, f'Give --{wanted} "{cut_length(_usual(wanted))}", or --size 38'
            )
        return {}

    def _of_no_body(self, size: str | None, sizes: tuple[str, ...]) -> dict[str, Body]:
        if size is not None or sizes:
            problem = f"the {self.garment.name} comes in no sizes"
            self._add("--sizes" if sizes else "--size", problem, "Leave it out")
        return {ONE_SIZE: Body.of_size(_USUAL_SAMPLE)}

    def _contradict(self, measures: Mapping[str, float]) -> None:
        for first, second, low, high in contradictions(measures):
            self._add(
                f"--{first.replace('_', '-')}, --{second.replace('_', '-')}",
                f"no body has {_plain(first)} {cut_length(measures[first])} with {_plain(second)} "
                f"{cut_length(measures[second])}",
                f"With that {_plain(second)}, {_plain(first)} is {cut_length(low)} to "
                f"{cut_length(high)}",
            )

    def _measure(self, name: str, text: str, place: str) -> float | None:
        measure = MEASURES[name]
        return self._length(text, place, measure.low_mm, measure.high_mm, "be a body's")

    def _option(self, option: Option, text: str, place: str) -> float | str | None:
        match option.kind:
            case Kind.LENGTH:
                return self._length(text, place, option.low, option.high, "be drafted")
            case Kind.WORD:
                if text in option.words:
                    return text
                self._add(place, "that is not one of the words", nearest(text, option.words))
                return None
            case _:
                return self._number(option, text, place)

    def _number(self, option: Option, text: str, place: str) -> float | None:
        whole = isinstance(option.usual, int)
        try:
            value = int(text) if whole else float(text.strip().removesuffix("°").removesuffix("%"))
        except ValueError:
            value = float("nan")
        if not option.low <= value <= option.high:
            kind = "whole number" if whole else "number"
            said = f"{option.low:g} to {option.high:g}"
            self._add(place, f"it takes a {kind} from {said}", f"Give {option.usual:g}, or so")
            return None
        return value

    def _length(self, text: str, place: str, low: float, high: float, can: str) -> float | None:
        """The length in mm where it lies in its range; what was meant may be another unit."""
        try:
            mm = parse_length(text)
            problem = f"{cut_length(mm)} cannot {can}"
        except NotALength as error:
            mm, problem = float("nan"), str(error)
        if low <= mm <= high:
            return mm
        meant = _meant(text, low, high)
        between = f"It is {cut_length(low)} to {cut_length(high)}"
        self._add(place, problem, f"Did you mean '{meant}'? {between}" if meant else between)
        return None

    def _add(self, place: str, problem: str, remedy: str) -> None:
        self.faults.append(Fault(place, problem, remedy))


def _meant(text: str, low: float, high: float) -> str:
    """The same number in the first unit that puts it in its range, '' if none does."""
    number = text.strip().rstrip('″"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ. ').strip()
    for unit in MM_PER_UNIT:
        try:
            if low <= parse_length(f"{number} {unit}") <= high:
                return f"{number} {unit}"
        except NotALength:
            return ""
    return ""


def _plain(name: str) -> str:
    return name.replace("_", " ")


def _usual(name: str) -> float:
    return float(getattr(Body.of_size(_USUAL_SAMPLE), name))
