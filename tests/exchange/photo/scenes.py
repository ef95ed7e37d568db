"""Tables with paper pieces on them: known outlines, a ground, a reference, light and a camera."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import cv2
import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray
from tests.exchange.photo.camera import Camera, Painted, Rgb, Spoiling, photographed

WHITE, KRAFT, GREEN = (0.84, 0.83, 0.80), (0.46, 0.31, 0.17), (0.22, 0.50, 0.27)
INK: Rgb = (0.02, 0.02, 0.03)
PEN_MM = 0.8


class Ground(StrEnum):
    """What the pieces lie on."""

    WHITE = "white"
    BROWN = "brown"
    PATTERNED = "patterned"


class Kind(StrEnum):
    """The reference that lies among them."""

    A4 = "a4"
    LETTER = "letter"
    SQUARE = "10 cm"
    ONE_SHEET = "marks"
    FOUR_SHEETS = "marks at four corners"


_PAPERS = {Kind.A4: (210.0, 297.0), Kind.LETTER: (215.9, 279.4), Kind.SQUARE: (100.0, 100.0)}


@dataclass(frozen=True)
class Known:
    """A piece as it is: its outline (n, 2) mm, counter-clockwise, and the vertices at its
    corners."""

    name: str
    outline: FloatArray
    corners: tuple[int, ...]

    def placed(self, degrees: float, x: float, y: float) -> Known:
        turn = np.radians(degrees)
        matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        middle = self.outline.min(axis=0) / 2 + self.outline.max(axis=0) / 2
        return Known(self.name, (self.outline - middle) @ matrix + (x, y), self.corners)


@dataclass(frozen=True)
class Scene:
    """A table: what lies on it and how it is photographed."""

    pieces: tuple[Known, ...]
    painted: tuple[Painted, ...]
    camera: Camera
    spoiling: Spoiling
    seed: int

    def jpeg(self) -> bytes:
        return photographed(self.camera, self.painted, self.spoiling, self.seed)


def _curve(*controls: tuple[float, float]) -> FloatArray:
    """A cubic through its first and last control, its first point left out."""
    t = np.linspace(0, 1, 41)[1:, None]
    a, b, c, d = (np.array(each) for each in controls)
    return np.asarray(
        (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d
    )


def _joined(name: str, *runs: FloatArray | tuple[float, float]) -> Known:
    """A piece of corners and curves, each run ending at a corner."""
    points: list[FloatArray] = []
    corners: list[int] = []
    for run in runs:
        points.append(np.atleast_2d(np.array(run, dtype=float)))
        corners.append(sum(map(len, points)) - 1)
    return Known(name, np.concatenate(points), tuple(corners))


def bodice(width: float, length: float) -> Known:
    neck, drop = 0.28 * width, 0.16 * length
    shoulder = (0.72 * width, length - 0.1 * length)
    under = (width, 0.55 * length)
    return _joined(
        "bodice", (0, 0), (0.92 * width, 0), under,
        _curve(under, (0.78 * width, 0.58 * length), (0.66 * width, 0.72 * length), shoulder),
        (neck, length),
        _curve((neck, length), (0.98 * neck, length - 0.7 * drop), (0.6 * neck, length - drop),
               (0, length - drop)),
    )  # fmt: skip


def skirt(width: float, length: float) -> Known:
    waist = 0.55 * width
    return _joined(
        "skirt", (0, 0), _curve((0, 0), (0.4 * width, 0), (0.8 * width, 6), (width, 22)),
        _curve((width, 22), (0.94 * width, 0.5 * length), (waist + 45, 0.85 * length),
               (waist, length)),
        _curve((waist, length), (0.6 * waist, length - 12), (0.3 * waist, length - 14),
               (0, length - 14)),
    )  # fmt: skip


def sleeve(width: float, length: float) -> Known:
    cap = 0.62 * length
    top = (width / 2, length)
    return _joined(
        "sleeve", (0.1 * width, 0), (0.9 * width, 0), (width, cap),
        np.vstack([_curve((width, cap), (0.82 * width, cap), (0.72 * width, length), top),
                   _curve(top, (0.28 * width, length), (0.18 * width, cap), (0, cap))]),
    )  # fmt: skip


def band(width: float, length: float) -> Known:
    return _joined("band", (0, 0), (length, 0), (length, width), (0, width))


def pocket(width: float, height: float) -> Known:
    turn = 0.3 * width
    k = 0.55 * turn
    right = _curve((width - turn, 0), (width - turn + k, 0), (width, turn - k), (width, turn))
    left = _curve((0, turn), (0, turn - k), (turn - k, 0), (turn, 0))
    return _joined("pocket", (0, height), np.vstack([[[0, turn]], left, [[width - turn, 0]], right,
                                                     [[width, height]]]))  # fmt: skip


def ring_sector(inner: float, outer: float, degrees: float) -> Known:
    angles = np.radians(np.linspace(0, degrees, 121))
    arc = np.column_stack([np.cos(angles), np.sin(angles)])
    whole = _joined("ring sector", (inner, 0), outer * arc[:1], outer * arc[1:],
                    inner * arc[::-1][:1], inner * arc[::-1][1:-1])  # fmt: skip
    return Known(whole.name, whole.outline, whole.corners[:-1])


def collar(width: float, height: float) -> Known:
    return _joined(
        "collar", (0, 0), _curve((0, 0), (0.4 * width, 8), (0.7 * width, 20), (width, 45)),
        (width + 8, 45 + height),
        _curve((width + 8, 45 + height), (0.7 * width, 20 + height), (0.4 * width, 6 + height),
               (0, height)),
    )  # fmt: skip


def some_pieces(count: int, rng: np.random.Generator) -> list[Known]:
    """Pieces of many kinds and sizes, the largest first."""
    u = rng.uniform
    every = [
        lambda: bodice(u(230, 290), u(380, 460)), lambda: skirt(u(260, 360), u(400, 520)),
        lambda: sleeve(u(280, 360), u(260, 380)), lambda: ring_sector(u(90, 130), u(330, 420), 60),
        lambda: band(u(60, 100), u(300, 500)), lambda: pocket(u(140, 190), u(150, 210)),
        lambda: collar(u(200, 280), u(60, 90)), lambda: band(u(150, 220), u(240, 330)),
    ]  # fmt: skip
    chosen = [every[k]() for k in rng.permutation(len(every))[:count]]
    return sorted(chosen, key=lambda piece: -shapely.Polygon(piece.outline).area)


def on_the_table(
    pieces: list[Known], room: tuple[float, float], taken: list[BaseGeometry],
    rng: np.random.Generator,
) -> list[Known]:  # fmt: skip
    """The pieces laid at random, clear of one another; as many as find a place."""
    placed: list[Known] = []
    for piece in pieces:
        for _ in range(400):
            degrees = rng.choice([0, 90, 180, 270]) + rng.normal(0, 4)
            trial = piece.placed(degrees, *(rng.uniform(0, side) for side in room))
            region = shapely.Polygon(trial.outline)
            low, high = trial.outline.min(axis=0), trial.outline.max(axis=0)
            clear = all(region.distance(other) > 12 for other in taken)
            if clear and (low > 0).all() and (high < room).all():
                placed.append(trial)
                taken.append(region)
                break
    return placed


def sheet_of_marks(first: int, degrees: float, x: float, y: float) -> tuple[BaseGeometry, Painted]:
    """Our printed sheet number `first` from 1 about (x, y): its paper, and what is printed on it.

    Six markers of 60 mm, in two columns 120 mm and three rows 95 mm apart, row by row from the top
    left, numbers 6 (sheet - 1) and on.
    """
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    squares = []
    for k in range(6):
        left, top = 120.0 * (k % 2) - 90, 125 - 95.0 * (k // 2)
        bits = cv2.aruco.generateImageMarker(book, 6 * (first - 1) + k, 6, None, 1)
        for row, column in zip(*np.nonzero(bits == 0), strict=True):
            corner = left + 10.0 * column, top - 10.0 * (row + 1)
            squares.append(shapely.box(*corner, corner[0] + 10, corner[1] + 10))
    printed = shapely.union_all(squares, grid_size=1e-6)
    paper = shapely.box(-105, -148.5, 105, 148.5)

    def put(region: BaseGeometry) -> BaseGeometry:
        return affinity.translate(affinity.rotate(region, degrees, origin=(0, 0)), x, y)

    return put(paper), Painted(put(printed), INK)


def ground_of(
    ground: Ground, room: tuple[float, float], rng: np.random.Generator
) -> Iterator[Painted]:
    """What the table is covered with, farther than any camera sees."""
    wide = shapely.box(-900, -900, room[0] + 900, room[1] + 900)
    if ground is Ground.WHITE:
        yield Painted(wide, (0.80, 0.80, 0.78))
    elif ground is Ground.BROWN:
        yield Painted(wide, (0.24, 0.13, 0.06))
        y = -900.0
        while y < room[1] + 900:
            y += rng.uniform(6, 40)
            shade = rng.uniform(0.75, 1.2)
            streak = shapely.box(-900, y, room[0] + 900, y + rng.uniform(2, 14))
            yield Painted(streak, (0.24 * shade, 0.13 * shade, 0.06 * shade))
    else:
        yield Painted(wide, (0.20, 0.32, 0.55))
        for k in range(-40, 100, 2):
            yield Painted(shapely.box(25 * k, -900, 25 * k + 25, room[1] + 900), (0.09, 0.16, 0.36))
        for k in range(-40, 100, 2):
            band_ = shapely.box(-900, 25 * k, room[0] + 900, 25 * k + 12)
            yield Painted(band_, (0.03, 0.05, 0.16))


def _dust(room: tuple[float, float], rng: np.random.Generator) -> Iterator[Painted]:
    for _ in range(12):
        at = shapely.Point(*(rng.uniform(0, side) for side in room))
        yield Painted(at.buffer(rng.uniform(0.5, 2.0)), INK if rng.random() < 0.5 else WHITE)


def looking_at(
    room: tuple[float, float], pixels: tuple[int, int], rng: np.random.Generator, tilt: float,
    barrel: float,
) -> Camera:  # fmt: skip
    """A hand-held camera with the whole room in its frame."""
    focal = 0.6 * float(np.hypot(*pixels)) * rng.uniform(0.95, 1.1)
    towards, roll, second = rng.uniform(0, 360), rng.normal(0, 3), rng.uniform(0, 0.3)
    corners = np.array([[0, 0], [room[0], 0], [room[0], room[1]], [0, room[1]]], dtype=float)
    edge = shapely.get_coordinates(shapely.segmentize(shapely.Polygon(corners), 50.0))
    distance = 600.0
    while True:
        camera = Camera(pixels, focal, tilt, towards, roll, distance,
                        (room[0] / 2, room[1] / 2), barrel, second)  # fmt: skip
        seen = camera.project(edge)
        if (seen > 0.015 * pixels[0]).all() and (seen < np.array(pixels) - 0.015 * pixels[0]).all():
            return camera
        distance *= 1.01


def random_scene(
    seed: int,
    ground: Ground,
    kind: Kind,
    count: int,
    pixels: tuple[int, int] = (4000, 3000),
    wide_mm: tuple[float, float] = (950.0, 1250.0),
) -> Scene:
    """A table by chance: tilt up to 25°, barrel distortion up to 5 %, pieces all of one paper."""
    rng = np.random.default_rng(seed)
    wide = rng.uniform(*wide_mm)
    room = (wide, wide * 0.72)
    white_pieces = ground is not Ground.WHITE
    paper: Rgb = WHITE if white_pieces else KRAFT
    on_top: list[Painted] = []
    region: BaseGeometry
    taken: list[BaseGeometry] = []
    if kind in _PAPERS:
        across, up = _PAPERS[kind]
        region = affinity.rotate(
            shapely.box(0, 0, across, up), rng.choice([0, 90]) + rng.normal(0, 5)
        )
        low, high = np.array(region.bounds[:2]), np.array(region.bounds[2:])
        at = [rng.uniform(0, side - size) for side, size in zip(room, high - low, strict=True)]
        region = affinity.translate(region, *(np.array(at) - low))
        taken.append(region)
        on_top.append(Painted(region, WHITE if white_pieces else GREEN))
    else:
        if kind is Kind.ONE_SHEET:
            spots = [(rng.uniform(160, room[0] - 160), rng.uniform(160, room[1] - 160))]
        else:
            spots = [(x, y) for x in (110, room[0] - 110) for y in (153, room[1] - 153)]
        for number, (x, y) in enumerate(spots, 1):
            region, printed = sheet_of_marks(number, rng.normal(0, 2), x, y)
            taken.append(region)
            on_top += [Painted(region, (0.85, 0.85, 0.84)), printed]
    pieces = on_the_table(some_pieces(8, rng), room, taken, rng)[:count]
    painted = [*ground_of(ground, room, rng), *_dust(room, rng)]
    painted += [Painted(shapely.Polygon(piece.outline), paper) for piece in pieces]
    camera = looking_at(room, pixels, rng, rng.uniform(0, 25), rng.uniform(0, 0.05))
    return Scene(tuple(pieces), (*painted, *on_top), camera, Spoiling(), seed)
