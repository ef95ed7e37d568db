"""A picture to check by eye: the photo with the outlines that were found, all numbered."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

import numpy as np
import shapely

from marker.exchange.photo.picture import Bytes, vision
from marker.geometry.arrays import FloatArray

_LONG_SIDE_PX = 2000
_LINE, _INK = (170, 0, 100), (255, 255, 255)
_QUALITY = 85


def check_picture(shown: Bytes, pieces: Sequence[tuple[int, Sequence[FloatArray]]]) -> bytes:
    """A JPEG of the photo with the edges (k, 2) of each piece in its pixels, all numbered."""
    from PIL import Image

    cv2 = vision()
    scale = min(1.0, _LONG_SIDE_PX / max(shown.shape[:2]))
    picture = cv2.resize(shown, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    for number, edges in pieces:
        drawn = [(edge + 0.5) * scale - 0.5 for edge in edges]
        for edge in drawn:
            ends = [np.round(edge * 16).astype(np.int32)]
            cv2.polylines(picture, ends, False, _LINE, 2, cv2.LINE_AA, 4)
            cv2.circle(picture, np.round(edge[0]).astype(int).tolist(), 5, _LINE, -1, cv2.LINE_AA)
        whole = shapely.Polygon(np.concatenate([edge[:-1] for edge in drawn]))
        inside = whole.representative_point()
        _write(picture, str(number), (inside.x, inside.y), 1.4)
        if len(drawn) > 1:
            for k, edge in enumerate(drawn, 1):
                middle = shapely.LineString(edge).interpolate(0.5, normalized=True)
                _write(picture, f"{number}.{k}", (middle.x, middle.y), 0.6)
    content = BytesIO()
    Image.fromarray(picture).save(content, "JPEG", quality=_QUALITY)
    return content.getvalue()


def _write(picture: Bytes, text: str, at: tuple[float, float], size: float) -> None:
    """A text about a place, on a ground of its own, so that it is read everywhere."""
    cv2 = vision()
    font, thick, margin = cv2.FONT_HERSHEY_SIMPLEX, max(1, round(2 * size)), round(4 + 4 * size)
    (wide, high), _ = cv2.getTextSize(text, font, size, thick)
    x, y = round(at[0] - wide / 2), round(at[1] + high / 2)
    corner = (x + wide + margin, y - high - margin)
    cv2.rectangle(picture, (x - margin, y + margin), corner, _LINE, -1)
    cv2.putText(picture, text, (x, y), font, size, _INK, thick, cv2.LINE_AA)
