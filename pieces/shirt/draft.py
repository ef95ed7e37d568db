"""Shirt, drafted from body measures: lengths in mm, angles in degrees, half pieces."""

from __future__ import annotations

from drafting import ACROSS, CLOCKWISE, Draft, Edge, curve, line, polygon, solve, toward

TITLE = "shirt, size 38, stitching lines in mm"

BUST, WAIST, HIP = 880, 720, 960  # EN 13402 secondary sizes, from memory
BUST_EASE, WAIST_EASE, HIP_EASE = 140, 260, 80
NECK_WIDTH, FRONT_NECK_DEPTH, BACK_NECK_DEPTH = 74, 80, 22
SHOULDER, SHOULDER_SLOPE = 128, 18
ARMHOLE_DEPTH, WAIST_DEPTH, HIP_DEPTH = 230, 430, 630  # below the neck end of the shoulder
YOKE_DEPTH, LENGTH = 110, 730
BAND = 30  # finished width; half of it lies beyond the centre front
CAP_HEIGHT, CAP_EASE, SLEEVE_LENGTH = 138, 10, 600
CUFF_LENGTH, CUFF_DEPTH, PLEATS = 245, 60, 40
COLLAR_DEPTH, STAND_DEPTH = 46, 30

NECK_POINT = complex(NECK_WIDTH, 0)
SLOPE = toward(SHOULDER_SLOPE)
SHOULDER_POINT = NECK_POINT + SHOULDER * SLOPE
UNDERARM = complex((BUST + BUST_EASE) / 4, ARMHOLE_DEPTH)
SHOULDER_SEAM = line(SHOULDER_POINT, NECK_POINT)


def lower_body(middle: complex) -> tuple[Edge, Edge, Edge]:
    """Shirt-tail hem from `middle`, side up to the waist, side on to the underarm."""
    hip = complex((HIP + HIP_EASE) / 4, HIP_DEPTH)
    waist = complex((WAIST + WAIST_EASE) / 4, WAIST_DEPTH)
    hem = curve(middle, ACROSS, hip, toward(-16), (120, 90))
    to_waist = curve(hip, toward(-92), waist, toward(-91), (60, 60))
    return hem, to_waist, curve(waist, toward(-91), UNDERARM, toward(-84), (60, 60))


def armhole(pulls: tuple[float, float]) -> Edge:
    """Armhole from the underarm to the shoulder, square to the shoulder."""
    return curve(UNDERARM, toward(-175), SHOULDER_POINT, SLOPE / CLOCKWISE, pulls)


def back_and_yoke() -> tuple[Draft, Draft]:
    """The back block, cut apart along a level yoke seam."""
    whole, middle = armhole((75, 105)), complex(0, LENGTH)
    lower, upper = whole.split(solve(lambda t: -whole.at(t).imag, -YOKE_DEPTH, 0, 1))
    yoke_middle, nape = complex(0, YOKE_DEPTH), complex(0, BACK_NECK_DEPTH)
    seam = line(lower.end, yoke_middle)
    back = (*lower_body(middle), lower, seam, line(yoke_middle, middle))
    neck = curve(NECK_POINT, SLOPE * CLOCKWISE, nape, -ACROSS, (14, 45))
    yoke = (seam.reversed, upper, SHOULDER_SEAM, neck, line(nape, yoke_middle))
    return Draft("back", back), Draft("yoke", yoke)


def front() -> Draft:
    """The front from the band seam to the side."""
    middle, neck_end = complex(BAND / 2, LENGTH), complex(BAND / 2, FRONT_NECK_DEPTH)
    neck = curve(NECK_POINT, SLOPE * CLOCKWISE, neck_end, -ACROSS, (48, 36))
    edge = line(neck_end, middle)
    return Draft("front", (*lower_body(middle), armhole((90, 110)), SHOULDER_SEAM, neck, edge))


def front_band(length: float) -> Draft:
    """Bottom, front edge, top of the outer half, top of the inner half, inner edge."""
    foot, across = complex(0, length), 2 * BAND
    return polygon("front band", foot, foot + across, across, BAND, 0)


def sleeve(front_armhole: float, back_armhole: float) -> Draft:
    """Wrist, front seam, front and back of the cap, back seam; half the cap ease on each side."""

    def front_cap(width: float) -> Edge:
        underarm = complex(width, CAP_HEIGHT)
        return curve(underarm, toward(186), 0j, -ACROSS, (0.55 * width, 0.40 * width))

    def back_cap(width: float) -> Edge:
        underarm = complex(-width, CAP_HEIGHT)
        return curve(0j, -ACROSS, underarm, toward(174), (0.45 * width, 0.45 * width))

    ease = CAP_EASE / 2
    to_front = front_cap(solve(lambda w: front_cap(w).length, front_armhole + ease, 100, 250))
    to_back = back_cap(solve(lambda w: back_cap(w).length, back_armhole + ease, 100, 250))
    middle = complex((to_front.start + to_back.end).real / 2, SLEEVE_LENGTH - CUFF_DEPTH)
    half_wrist = (CUFF_LENGTH + PLEATS) / 2
    wrist = line(middle - half_wrist, middle + half_wrist)
    front_seam, back_seam = line(wrist.end, to_front.start), line(to_back.end, wrist.start)
    return Draft("sleeve", (wrist, front_seam, to_front, to_back, back_seam))


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


def cuff() -> Draft:
    """Left end, rounded corner, bottom, rounded corner, right end, seam to the sleeve."""
    round_by, deep, long = 20, CUFF_DEPTH, CUFF_LENGTH
    left, right = complex(0, deep - round_by), complex(long, deep - round_by)
    bottom = line(complex(round_by, deep), complex(long - round_by, deep))
    pulls = (0.55 * round_by, 0.55 * round_by)
    turns = (
        curve(left, CLOCKWISE, bottom.start, ACROSS, pulls),
        curve(bottom.end, ACROSS, right, -CLOCKWISE, pulls),
    )
    top = line(complex(long, 0), 0j)
    return Draft("cuff", (line(0j, left), turns[0], bottom, turns[1], line(right, top.start), top))


def drafts() -> list[Draft]:
    """Every piece drawn."""
    (back, yoke), front_piece = back_and_yoke(), front()
    front_armhole, _, front_neck, front_edge = (edge.length for edge in front_piece.edges[3:])
    back_armhole = back.edges[3].length + yoke.edges[1].length
    stand_piece = stand(yoke.edges[3].length + front_neck + BAND)
    placket = polygon("sleeve placket", 0 + 180j, 75 + 180j, 75 + 45j, 42 + 45j, 42 + 18j, 21, 18j)
    pocket = polygon("pocket", 130j, 60 + 150j, 120 + 130j, 120, 0)
    return [
        front_piece,
        back,
        sleeve(front_armhole, back_armhole),
        front_band(front_edge),
        yoke,
        collar(stand_piece.edges[2].length),
        stand_piece,
        cuff(),
        placket,
        pocket,
    ]
