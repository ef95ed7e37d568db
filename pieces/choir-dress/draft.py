"""Choir dress, drafted from body measures: lengths in mm, angles in degrees, half pieces.

Size 38 is the sample; every size more adds one step to each measure that grows.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from blocks import Skirt, waistline
from drafting import ACROSS, CLOCKWISE, Draft, curve, line, sheet, toward

SIZES, SAMPLE = ("34", "36", "38", "40", "42", "44"), "38"

BUST, WAIST, HIP = 880, 720, 960  # EN 13402 secondary sizes, from memory
GIRTH_STEP = 40  # the same, sizes 34 to 44
BUST_EASE, WAIST_EASE, HIP_EASE = 0, 20, 40
# at size 38, and what a size adds: common practice, no source
NECK_WIDTH, NECK_WIDTH_STEP = 90, 1.5
FRONT_NECK_DEPTH, FRONT_NECK_STEP = 125, 2
BACK_NECK_DEPTH, BACK_NECK_STEP = 35, 0.5
SHOULDER, SHOULDER_STEP = 85, 2
ARMHOLE_DEPTH, ARMHOLE_STEP = 225, 4  # below the neck end of the shoulder
BODICE_LENGTH, BODICE_STEP = 430, 5
ARMHOLE_PULL_STEP = 2.5
SHOULDER_SLOPE = 20


@dataclass(frozen=True)
class Block:
    """The dress so many size steps above the sample, below if negative."""

    steps: int

    def measure(self, at_sample: float, step: float) -> float:
        """A measure in this size."""
        return at_sample + step * self.steps

    @cached_property
    def skirt(self) -> Skirt:
        """Its length and the depth of its hip are the same in every size."""
        return Skirt(
            waist=self.measure(WAIST, GIRTH_STEP) + WAIST_EASE,
            hip=self.measure(HIP, GIRTH_STEP) + HIP_EASE,
            length=720,
            hip_depth=200,
            flare=18,
            waist_slope=17,
            waist_rise=25,
        )

    def bodice(self, name: str, neck_depth: float, pulls: tuple[float, float]) -> Draft:
        """Waist, side, armhole, shoulder, neck; the centre line is the fold."""
        neck_width = self.measure(NECK_WIDTH, NECK_WIDTH_STEP)
        slope = toward(SHOULDER_SLOPE)
        neck_point = complex(neck_width, 0)
        shoulder_point = neck_point + self.measure(SHOULDER, SHOULDER_STEP) * slope
        bust = self.measure(BUST, GIRTH_STEP) + BUST_EASE
        underarm = complex(bust / 4, self.measure(ARMHOLE_DEPTH, ARMHOLE_STEP))
        leaving, arriving = toward(-84), toward(-78)
        waist_middle = complex(0, self.measure(BODICE_LENGTH, BODICE_STEP))
        waist = waistline(waist_middle, 6, leaving * CLOCKWISE, self.skirt.waist / 4)
        side = curve(waist.end, leaving, underarm, arriving, (60, 60))
        into, out = (self.measure(pull, ARMHOLE_PULL_STEP) for pull in pulls)
        armhole = curve(
            underarm, arriving / CLOCKWISE, shoulder_point, slope / CLOCKWISE, (into, out)
        )
        shoulder = line(shoulder_point, neck_point)
        middle = complex(0, neck_depth)
        neck_pulls = 0.6 * neck_depth, 0.6 * neck_width
        neck = curve(neck_point, slope * CLOCKWISE, middle, -ACROSS, neck_pulls)
        return Draft(name, (waist, side, armhole, shoulder, neck, line(middle, waist.start)))


def drafts(size: str = SAMPLE) -> list[Draft]:
    """Every piece drawn; bindings and belt are strips of the job."""
    block = Block(SIZES.index(size) - SIZES.index(SAMPLE))
    front_neck = block.measure(FRONT_NECK_DEPTH, FRONT_NECK_STEP)
    back_neck = block.measure(BACK_NECK_DEPTH, BACK_NECK_STEP)
    return [
        block.bodice("bodice front", front_neck, (85, 100)),
        block.bodice("bodice back", back_neck, (65, 90)),
        block.skirt.draft("skirt front"),
        block.skirt.draft("skirt back"),
    ]


def files() -> dict[str, str]:
    """A drawing for each size."""
    return {
        f"pattern-{size}.svg": sheet(
            f"choir dress, size {size}, stitching lines in mm", drafts(size)
        )
        for size in SIZES
    }
