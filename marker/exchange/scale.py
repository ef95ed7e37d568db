"""What one unit of a drawing measures: what says so, what is doubtful about it, what to answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from marker.errors import Fault, FaultyInput
from marker.exchange.scale_squares import TRUE, square_words
from marker.exchange.strokes import ScaleSquare
from marker.units import inches, metric

UNITS = (("mm", 1.0), ("cm", 10.0), ("in", 25.4))
PIXEL = ("1/96 in", 25.4 / 96)  # CSS Values and Units 4, section 6.2
# the longest piece of a garment lies between these: common practice, no source
PLAUSIBLE_MM = (50.0, 4000.0)

Choice = tuple[str, float]
"""A unit as `--units` takes it, and its mm."""


@dataclass(frozen=True)
class Scale:
    """What is known of the scale of one drawing.

    said : what in the drawing says what one unit measures, "" for nothing.
    unit_mm : that measure, or the one that was given instead.
    longest : of its largest piece, in drawing units.
    doubt : why the scale must be asked for, "" when it is known.
    choices : units that it may be drawn in, the likeliest first.
    squares : those printed to check the scale by, measured at `unit_mm`.
    """

    file: Path
    said: str
    unit_mm: float
    longest: float
    doubt: str
    choices: tuple[Choice, ...] = UNITS
    squares: tuple[ScaleSquare, ...] = ()


class ScaleUnknown(FaultyInput):
    """A drawing's scale is missing or can't be right, and nobody has said what it is."""

    def __init__(self, scales: Sequence[Scale]) -> None:
        self.scales = tuple(scales)
        super().__init__(
            Fault(
                str(scale.file),
                f"{scale.doubt}; the longest piece measures {scale.longest:.6g} units, which is "
                + ", ".join(
                    f"{_both(scale.longest * mm)} if a unit is {unit}" for unit, mm in scale.choices
                ),
                "Measure the pattern and say what one unit is: --units "
                + ", ".join(f'"{unit}"' if " " in unit else unit for unit, _ in scale.choices)
                + " or another length",
            )
            for scale in scales
        )


def scale_of(
    file: Path,
    said: Sequence[Choice],
    used_mm: float,
    longest_mm: float,
    squares: Sequence[ScaleSquare],
    usual: Sequence[Choice] = UNITS,
) -> Scale:
    """The scale of a drawing read with `used_mm` to a unit.

    said : what says what one unit measures, and that. longest_mm : of its largest piece, so read.
    usual : units that such a drawing is often made in.
    """
    doubt, choices = "", tuple(usual)
    off = [square for square in squares if abs(square.off) > TRUE]
    if off:
        doubt = square_words(max(off, key=lambda square: abs(square.off)))
        choices = tuple(dict.fromkeys(_true_unit(square, used_mm) for square in off))
        choices = (*choices, *([(f"{used_mm:.6g} mm", used_mm)] if said else usual))
    if not said:
        without = "the drawing does not say what one unit measures"
        doubt = f"{without}; at {used_mm:.4g} mm, {doubt}" if doubt else without
    elif len({mm for _, mm in said}) > 1:
        doubt = "the drawing says that one unit is " + " and ".join(
            f"{mm:g} mm ({what})" for what, mm in said
        )
    elif not doubt and not PLAUSIBLE_MM[0] <= longest_mm <= PLAUSIBLE_MM[1]:
        doubt = f"by {said[0][0]} its longest piece would measure {_both(longest_mm)}"
    return Scale(
        file,
        " and ".join(what for what, _ in said),
        used_mm,
        longest_mm / used_mm,
        doubt,
        choices,
        tuple(squares),
    )


def _true_unit(square: ScaleSquare, used_mm: float) -> Choice:
    """The unit by which a square measures what it says."""
    measured = (square.across_mm + square.up_mm) / 2
    mm = used_mm * square.says_mm / measured
    return f"{mm:.6g} mm", mm


def _both(mm: float) -> str:
    return f"{metric(mm)} ({inches(mm)})"
