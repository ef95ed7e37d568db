"""Shirt, drafted from body measures: lengths in mm, angles in degrees, half pieces.

Size 38 is the sample and the one drawn. The other sizes are drafted too, and the grade rules, how
each corner moves from size to size, are read off the drafts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from drafting import (
    ACROSS,
    CLOCKWISE,
    Draft,
    Edge,
    curve,
    line,
    polygon,
    sheet,
    solve,
    toward,
)

SIZES, SAMPLE = ("36", "38", "40", "42", "44"), "38"

BUST, WAIST, HIP = 880, 720, 960  # EN 13402 secondary sizes, from memory
GIRTH_STEP = 40  # the same, sizes 36 to 44
BUST_EASE, WAIST_EASE, HIP_EASE = 140, 260, 80
# at size 38, and what a size adds: common practice, no source
NECK_WIDTH, NECK_WIDTH_STEP = 74, 1.5
FRONT_NECK_DEPTH, FRONT_NECK_STEP, BACK_NECK_DEPTH = 80, 1.5, 22
SHOULDER, SHOULDER_STEP = 128, 3
ARMHOLE_DEPTH, ARMHOLE_STEP, ARMHOLE_PULL_STEP = 230, 5, 2.5  # below the shoulder's neck end
WAIST_DEPTH, HIP_DEPTH, LENGTH, LENGTH_STEP = 430, 630, 730, 4
CAP_HEIGHT, CAP_STEP = 138, 2
SLEEVE_LENGTH, SLEEVE_STEP = 600, 3
CUFF_LENGTH, CUFF_STEP = 245, 6
# the same in every size
SHOULDER_SLOPE = 18
YOKE_DEPTH = 110
BAND = 30  # finished width; half of it lies beyond the centre front
CAP_EASE = 10
CUFF_DEPTH, PLEATS = 60, 40
COLLAR_DEPTH, STAND_DEPTH = 46, 30

SLOPE = toward(SHOULDER_SLOPE)

# grade rule -> piece and corner that it is read off; corners of other pieces may move by it too
RULES = {
    "held": ("sleeve", 4),
    "hem": ("back", 1),
    "hip": ("back", 2),
    "waist": ("back", 3),
    "underarm": ("back", 4),
    "shoulder": ("front", 5),
    "neck point": ("front", 6),
    "front neck": ("front", 7),
    "yoke end": ("back", 5),
    "back wrist": ("sleeve", 1),
    "front wrist": ("sleeve", 2),
    "front cap": ("sleeve", 3),
    "back cap": ("sleeve", 5),
    "band foot": ("front band", 1),
    "collar end": ("collar", 2),
    "cuff end": ("cuff", 6),
}


@dataclass(frozen=True)
class Block:
    """The shirt so many size steps above the sample, below if negative."""

    steps: int

    def measure(self, at_sample: float, step: float) -> float:
        """A measure in this size."""
        return at_sample + step * self.steps

    def quarter(self, girth: float, ease: float) -> float:
        """A quarter of a girth in this size with its ease."""
        return (self.measure(girth, GIRTH_STEP) + ease) / 4

    @cached_property
    def neck_point(self) -> complex:
        return complex(self.measure(NECK_WIDTH, NECK_WIDTH_STEP), 0)

    @cached_property
    def shoulder_seam(self) -> Edge:
        """From the shoulder to the neck."""
        shoulder = self.measure(SHOULDER, SHOULDER_STEP)
        return line(self.neck_point + shoulder * SLOPE, self.neck_point)

    @cached_property
    def underarm(self) -> complex:
        depth = self.measure(ARMHOLE_DEPTH, ARMHOLE_STEP)
        return complex(self.quarter(BUST, BUST_EASE), depth)

    @cached_property
    def length(self) -> float:
        return self.measure(LENGTH, LENGTH_STEP)

    def lower_body(self, middle: complex) -> tuple[Edge, Edge, Edge]:
        """Shirt-tail hem from `middle`, side up to the waist, side on to the underarm."""
        hip = complex(self.quarter(HIP, HIP_EASE), self.measure(HIP_DEPTH, LENGTH_STEP))
        waist = complex(self.quarter(WAIST, WAIST_EASE), self.measure(WAIST_DEPTH, LENGTH_STEP))
        hem = curve(middle, ACROSS, hip, toward(-16), (120, 90))
        to_waist = curve(hip, toward(-92), waist, toward(-91), (60, 60))
        return hem, to_waist, curve(waist, toward(-91), self.underarm, toward(-84), (60, 60))

    def armhole(self, *pulls: float) -> Edge:
        """Armhole from the underarm to the shoulder, square to the shoulder."""
        leaving, arriving = (self.measure(pull, ARMHOLE_PULL_STEP) for pull in pulls)
        end = self.shoulder_seam.start
        return curve(self.underarm, toward(-175), end, SLOPE / CLOCKWISE, (leaving, arriving))

    def back_and_yoke(self) -> tuple[Draft, Draft]:
        """The back block, cut apart along a level yoke seam."""
        whole, middle = self.armhole(75, 105), complex(0, self.length)
        lower, upper = whole.split(solve(lambda t: -whole.at(t).imag, -YOKE_DEPTH, 0, 1))
        yoke_middle, nape = complex(0, YOKE_DEPTH), complex(0, BACK_NECK_DEPTH)
        seam = line(lower.end, yoke_middle)
        back = (*self.lower_body(middle), lower, seam, line(yoke_middle, middle))
        pulls = 14, self.measure(45, NECK_WIDTH_STEP)
        neck = curve(self.neck_point, SLOPE * CLOCKWISE, nape, -ACROSS, pulls)
        yoke = (seam.reversed, upper, self.shoulder_seam, neck, line(nape, yoke_middle))
        return Draft("back", back), Draft("yoke", yoke)

    def front(self) -> Draft:
        """The front from the band seam to the side."""
        middle = complex(BAND / 2, self.length)
        neck_end = complex(BAND / 2, self.measure(FRONT_NECK_DEPTH, FRONT_NECK_STEP))
        neck = curve(self.neck_point, SLOPE * CLOCKWISE, neck_end, -ACROSS, (48, 36))
        body = (*self.lower_body(middle), self.armhole(90, 110), self.shoulder_seam)
        return Draft("front", (*body, neck, line(neck_end, middle)))

    def sleeve(self, front_armhole: float, back_armhole: float) -> Draft:
        """Wrist, front seam, front and back of the cap, back seam; half the cap ease each side."""
        height = self.measure(CAP_HEIGHT, CAP_STEP)

        def front_cap(width: float) -> Edge:
            underarm = complex(width, height)
            return curve(underarm, toward(186), 0j, -ACROSS, (0.55 * width, 0.40 * width))

        def back_cap(width: float) -> Edge:
            underarm = complex(-width, height)
            return curve(0j, -ACROSS, underarm, toward(174), (0.45 * width, 0.45 * width))

        ease = CAP_EASE / 2
        to_front = front_cap(solve(lambda w: front_cap(w).length, front_armhole + ease, 100, 250))
        to_back = back_cap(solve(lambda w: back_cap(w).length, back_armhole + ease, 100, 250))
        foot = self.measure(SLEEVE_LENGTH, SLEEVE_STEP) - CUFF_DEPTH
        middle = complex((to_front.start + to_back.end).real / 2, foot)
        half_wrist = (self.cuff_length + PLEATS) / 2
        wrist = line(middle - half_wrist, middle + half_wrist)
        front_seam, back_seam = line(wrist.end, to_front.start), line(to_back.end, wrist.start)
        return Draft("sleeve", (wrist, front_seam, to_front, to_back, back_seam))

    @cached_property
    def cuff_length(self) -> float:
        return self.measure(CUFF_LENGTH, CUFF_STEP)


def front_band(length: float) -> Draft:
    """Bottom, front edge, top of the outer half, top of the inner half, inner edge."""
    foot, across = complex(0, length), 2 * BAND
    return polygon("front band", foot, foot + across, across, BAND, 0)


def stand(neck_length: float) -> Draft:
    """Neck seam, rounded front end, collar seam; the collar ends at the centre front."""
    rising = toward(-8)

    def neck_seam(across: float) -> Edge:
        end = complex(across, STAND_DEPTH - 12)
        return curve(complex(0, STAND_DEPTH), ACROSS, end, rising, (70, 70))

    neck = neck_seam(solve(lambda across: neck_seam(across).length, neck_length, 150, 300))
    up = rising / CLOCKWISE
    centre_front = neck.end - BAND / 2 * rising + 0.9 * STAND_DEPTH * up
    end = curve(neck.end, up, centre_front, -rising, (18, 9))
    top = curve(centre_front, -rising, 0j, -ACROSS, (60, 60))
    return Draft("collar stand", (neck, end, top, line(0j, neck.start)))


def collar(stand_length: float) -> Draft:
    """Seam to the stand, front edge, outer edge."""

    def seam(across: float) -> Edge:
        end = complex(across, COLLAR_DEPTH - 8)
        return curve(complex(0, COLLAR_DEPTH), ACROSS, end, toward(-6), (70, 70))

    to_stand = seam(solve(lambda across: seam(across).length, stand_length, 150, 300))
    point = to_stand.end + complex(24, -62)
    outer = curve(point, toward(170), 0j, -ACROSS, (70, 70))
    return Draft("collar", (to_stand, line(to_stand.end, point), outer, line(0j, to_stand.start)))


def cuff(length: float) -> Draft:
    """Left end, rounded corner, bottom, rounded corner, right end, seam to the sleeve."""
    round_by, deep = 20, CUFF_DEPTH
    left, right = complex(0, deep - round_by), complex(length, deep - round_by)
    bottom = line(complex(round_by, deep), complex(length - round_by, deep))
    pulls = (0.55 * round_by, 0.55 * round_by)
    turns = (
        curve(left, CLOCKWISE, bottom.start, ACROSS, pulls),
        curve(bottom.end, ACROSS, right, -CLOCKWISE, pulls),
    )
    top = line(complex(length, 0), 0j)
    return Draft("cuff", (line(0j, left), turns[0], bottom, turns[1], line(right, top.start), top))


def drafts(size: str = SAMPLE) -> list[Draft]:
    """Every piece in a size."""
    block = Block(SIZES.index(size) - SIZES.index(SAMPLE))
    (back, yoke), front = block.back_and_yoke(), block.front()
    front_armhole, _, front_neck, front_edge = (edge.length for edge in front.edges[3:])
    back_armhole = back.edges[3].length + yoke.edges[1].length
    stand_piece = stand(yoke.edges[3].length + front_neck + BAND)
    placket = polygon("sleeve placket", 0 + 180j, 75 + 180j, 75 + 45j, 42 + 45j, 42 + 18j, 21, 18j)
    pocket = polygon("pocket", 130j, 60 + 150j, 120 + 130j, 120, 0)
    return [
        front,
        back,
        block.sleeve(front_armhole, back_armhole),
        front_band(front_edge),
        yoke,
        collar(stand_piece.edges[2].length),
        stand_piece,
        cuff(block.cuff_length),
        placket,
        pocket,
    ]


def grade_rules() -> str:
    """The grade rules as a file: by how much each point lies away from where size 38 has it."""
    corners = {
        size: {draft.name: [edge.start for edge in draft.edges] for draft in drafts(size)}
        for size in SIZES
    }
    lines = [
        "# Grade rules of the shirt, read off its drafts: size = [dx, dy] from size 38,",
        "# x away from the centre, y up the body.",
        'units = "mm"',
    ]
    for rule, (piece, corner) in RULES.items():
        lines += ["", f'[rules."{rule}"]']
        at_sample = corners[SAMPLE][piece][corner - 1]
        for size in SIZES:
            move = corners[size][piece][corner - 1] - at_sample
            if size != SAMPLE:
                lines.append(f"{size} = [{move.real + 0.0:.2f}, {0.0 - move.imag:.2f}]")
    return "\n".join([*lines, ""])


def files() -> dict[str, str]:
    """The sample size's drawing, and the rules that grade it."""
    return {
        "pattern.svg": sheet(f"shirt, size {SAMPLE}, stitching lines in mm", drafts()),
        "rules.toml": grade_rules(),
    }
