"""A camera above a table: polygons in mm become a picture with all that spoils one.

It shares nothing with the reader. Matplotlib's Agg covers pixels exactly, so edges lie where the
projection puts them; light, blur and noise are added in linear light, then the sRGB curve and JPEG.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import numpy as np
import shapely
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.path import Path as Outline
from matplotlib.transforms import IdentityTransform
from PIL import Image
from scipy.ndimage import gaussian_filter
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray

Rgb = tuple[float, float, float]
_STEP_MM = 2.0  # edges are projected in steps, for the lens bends them


@dataclass(frozen=True)
class Camera:
    """A pinhole with a lens that bends.

    pixels : (wide, high). focal : in pixels. tilt_deg : from looking straight down; towards : which
    way it leans, degrees; roll_deg : of the frame. distance_mm : to `target`, the point of the
    table in the middle. barrel : share by which a corner of the frame is drawn inward; second :
    the share of it that goes with the fourth power of the radius.
    """

    pixels: tuple[int, int]
    focal: float
    tilt_deg: float
    towards_deg: float
    roll_deg: float
    distance_mm: float
    target: tuple[float, float]
    barrel: float = 0.0
    second: float = 0.0

    def project(self, points: FloatArray) -> FloatArray:
        """(n, 2) mm on the table, y up -> (n, 2) pixels, y down, the first pixel 0 to 1."""
        tilt, way, roll = np.radians([self.tilt_deg, self.towards_deg, self.roll_deg])
        away = np.array([np.cos(way) * np.sin(tilt), np.sin(way) * np.sin(tilt), np.cos(tilt)])
        ahead = -away
        right = np.array([np.cos(roll), np.sin(roll), 0.0])
        right -= (right @ ahead) * ahead
        right /= np.linalg.norm(right)
        down = np.cross(ahead, right)
        place = np.array([*self.target, 0.0]) + self.distance_mm * away
        seen = np.column_stack([points, np.zeros(len(points))]) - place
        flat = np.column_stack([seen @ right, seen @ down]) / (seen @ ahead)[:, None]
        half = np.array(self.pixels) / 2
        share = (flat**2).sum(axis=1) / (half @ half / self.focal**2)
        share = np.minimum(share, 2.0)  # far outside the frame the lens bends no more
        bend = 1.0 - self.barrel * ((1 - self.second) * share + self.second * share**2)
        return np.asarray(half + self.focal * flat * bend[:, None])


@dataclass(frozen=True)
class Painted:
    """A region of the table in one colour (linear light, 0 to 1)."""

    region: BaseGeometry
    colour: Rgb


@dataclass(frozen=True)
class Spoiling:
    """What spoils a picture. uneven : share of light lost across it. shadow : share of light that
    a soft shadow takes. noise : in linear light. blur_px : of the lens. quality : of the JPEG."""

    uneven: float = 0.3
    shadow: float = 0.4
    noise: float = 0.008
    blur_px: float = 0.8
    quality: int = 80


def photographed(
    camera: Camera, painted: Sequence[Painted], spoiling: Spoiling, seed: int
) -> bytes:
    """The picture as a JPEG file; what is painted later lies on top."""
    rng = np.random.default_rng(seed)
    picture = _drawn(camera, painted).astype(np.float32) / 255
    picture *= _light(camera.pixels, spoiling, rng)[:, :, None]
    picture = gaussian_filter(picture, (spoiling.blur_px, spoiling.blur_px, 0))
    strength = spoiling.noise * np.sqrt(0.15 + picture)
    picture += rng.standard_normal(picture.shape, dtype=np.float32) * strength
    return _jpeg(_encoded(np.clip(picture, 0.0, 1.0)), spoiling.quality)


def _drawn(camera: Camera, painted: Sequence[Painted]) -> FloatArray:
    wide, high = camera.pixels
    agg: Any = RendererAgg(wide, high, 72)  # type: ignore[no-untyped-call]
    for each in painted:
        rings: list[Outline] = []
        for part in shapely.get_parts(each.region):
            for ring in (part.exterior, *part.interiors):
                points = shapely.get_coordinates(shapely.segmentize(ring, _STEP_MM))
                pixels = camera.project(points)
                rings.append(Outline(np.column_stack([pixels[:, 0], high - pixels[:, 1]])))
        context = agg.new_gc()
        context.set_linewidth(0.0)
        context.set_antialiased(True)
        whole = Outline.make_compound_path(*rings)
        whole.should_simplify = False
        agg.draw_path(context, whole, IdentityTransform(), (*each.colour, 1.0))
    return np.asarray(agg.buffer_rgba())[:, :, :3]


def _light(
    pixels: tuple[int, int], spoiling: Spoiling, rng: np.random.Generator
) -> np.ndarray[tuple[int, int], np.dtype[np.float32]]:
    """Light at each pixel: from one side, less to the corners, and a shadow with a soft edge."""
    wide, high = pixels
    x = np.linspace(-1, 1, wide, dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, high, dtype=np.float32)[:, None]
    way = rng.uniform(0, 2 * np.pi)
    slope = (np.cos(way) * x + np.sin(way) * y) / np.sqrt(2)
    light = 1.0 - spoiling.uneven * (slope + 1) / 2 - 0.08 * (x**2 + y**2)
    centre, turn = rng.uniform(-0.7, 0.7, 2), rng.uniform(0, np.pi)
    along = (x - centre[0]) * np.cos(turn) + (y - centre[1]) * np.sin(turn)
    across = (y - centre[1]) * np.cos(turn) - (x - centre[0]) * np.sin(turn)
    inside = 1.0 - np.sqrt((along / 0.9) ** 2 + (across / 0.35) ** 2)
    soft = rng.uniform(0.08, 0.2)
    return np.asarray(light * (1.0 - spoiling.shadow / (1 + np.exp(-inside / soft * 4))))


def _encoded(linear: FloatArray) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """Linear light as bytes by the sRGB curve (IEC 61966-2-1)."""
    low = linear * 12.92
    high = 1.055 * np.power(np.maximum(linear, 1e-6), 1 / 2.4) - 0.055
    return np.asarray(np.round(np.where(linear <= 0.0031308, low, high) * 255), dtype=np.uint8)


def _jpeg(picture: np.ndarray[tuple[int, ...], np.dtype[np.uint8]], quality: int) -> bytes:
    content = BytesIO()
    Image.fromarray(picture).save(content, "JPEG", quality=quality)
    return content.getvalue()
