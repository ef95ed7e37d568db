"""Choir dress, drafted from body measures: lengths in mm, angles in degrees, half pieces."""

from __future__ import annotations

from blocks import Skirt, waistline
from drafting import ACROSS, CLOCKWISE, Draft, curve, line, toward

TITLE = "choir dress, size 38, stitching lines in mm"

BUST, WAIST, HIP = 880, 720, 960  # EN 13402 secondary sizes, from memory
BUST_EASE, WAIST_EASE, HIP_EASE = 0, 20, 40
NECK_WIDTH, FRONT_NECK_DEPTH, BACK_NECK_DEPTH = 90, 125, 35
SHOULDER, SHOULDER_SLOPE = 85, 20
ARMHOLE_DEPTH, BODICE_LENGTH = 225, 430  # below the neck end of the shoulder

NECK_POINT = complex(NECK_WIDTH, 0)
SHOULDER_POINT = NECK_POINT + SHOULDER * toward(SHOULDER_SLOPE)
UNDERARM = complex((BUST + BUST_EASE) / 4, ARMHOLE_DEPTH)
SKIRT = Skirt(
    waist=WAIST + WAIST_EASE,
    hip=HIP + HIP_EASE,
    length=720,
    hip_depth=200,
    flare=18,
    waist_slope=17,
    waist_rise=25,
)


def bodice(name: str, neck_depth: float, armhole_pulls: tuple[float, float]) -> Draft:
    """Waist, side, armhole, shoulder, neck; the centre line is the fold."""
    leaving, arriving = toward(-84), toward(-78)
    waist = waistline(complex(0, BODICE_LENGTH), 6, leaving * CLOCKWISE, SKIRT.waist / 4)
    side = curve(waist.end, leaving, UNDERARM, arriving, (60, 60))
    slope = toward(SHOULDER_SLOPE)
    armhole = curve(
        UNDERARM, arriving / CLOCKWISE, SHOULDER_POINT, slope / CLOCKWISE, armhole_pulls
    )
    shoulder = line(SHOULDER_POINT, NECK_POINT)
    middle = complex(0, neck_depth)
    pulls = 0.6 * neck_depth, 0.6 * NECK_WIDTH
    neck = curve(NECK_POINT, slope * CLOCKWISE, middle, -ACROSS, pulls)
    return Draft(name, (waist, side, armhole, shoulder, neck, line(middle, waist.start)))


def drafts() -> list[Draft]:
    """Every piece drawn; bindings and belt are strips of the job."""
    return [
        bodice("bodice front", FRONT_NECK_DEPTH, (85, 100)),
        bodice("bodice back", BACK_NECK_DEPTH, (65, 90)),
        SKIRT.draft("skirt front"),
        SKIRT.draft("skirt back"),
    ]
