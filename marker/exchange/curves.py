"""Path data (SVG 2, chapter 9) as points: curves become chords within a stated distance."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
from svgelements import Arc, Close, CubicBezier, Line, Move, Path, QuadraticBezier

from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray

_MOST_POINTS = Most.LINE_POINTS.most
_FURTHEST = 1e9  # times the tolerance: a kilometre at the finest `flatten`
_NOT_PATH_DATA = re.compile(r"[^MmLlHhVvCcSsQqTtAaZz0-9eE+\-.,\s]")


def parse_path(data: str) -> Path:
    """One sub-path of SVG path data; raises Unusable when it is none, broken or more than one."""
    paths = parse_sub_paths(data)
    if len(paths) > 1:
        raise Unusable(
            "the outline has more than one sub-path", "Draw one closed line, with one M and one Z"
        )
    return paths[0]


def parse_sub_paths(data: str) -> list[Path]:
    """All sub-paths of SVG path data; raises Unusable when it is none or broken."""
    if len(data) > Most.LINE_LETTERS.most:
        raise _too_many_points()
    stranger = _NOT_PATH_DATA.search(data)
    if stranger:
        raise Unusable(
            f"{stranger[0]!r} at character {stranger.start() + 1} is not SVG path data",
            "Write commands such as M, L, C, A and Z with numbers",
        )
    if not data.lstrip().startswith(("M", "m")):
        raise Unusable("path data must begin with M", "Begin with M and the first point")
    try:
        path = Path(data)
    except (ValueError, IndexError, AttributeError, TypeError, ArithmeticError) as error:
        raise Unusable(
            "the path data is broken", "Check that each command has all its numbers"
        ) from error
    return _sub_paths(path)


def _sub_paths(path: Path) -> list[Path]:
    """Split at each M, and after each Z, where what comes next starts at the sub-path's start."""
    found: list[list[Any]] = []
    for segment in path:
        if isinstance(segment, Move):
            found.append([segment])
        elif found and isinstance(found[-1][-1], Close):
            found.append([Move(found[-1][0].end), segment])
        else:
            found[-1].append(segment)
    drawn = [segments for segments in found if len(segments) > 1] or found
    return [Path(*segments) for segments in drawn]


def flatten(path: Path, tolerance: float) -> tuple[FloatArray, list[int], bool]:
    """Points of a path, with no chord further than `tolerance` from its curve.

    Returns (n, 2) points in the path's own unit, y down; the index of each command's end point
    (the first is the start, Z has none); and whether Z closes the path.
    """
    points: list[FloatArray] = []
    ends: list[int] = []
    count = 0
    for segment in path:
        if isinstance(segment, Close):
            continue
        part = _segment_points(segment, tolerance)
        points.append(part)
        count += len(part)
        ends.append(count - 1)
        if count > _MOST_POINTS:
            raise _too_many_points()
    return np.concatenate(points), ends, isinstance(path[-1], Close)


def _segment_points(segment: Any, tolerance: float) -> FloatArray:
    """Points of one command after its start, the end included."""
    end = _xy(segment.end, tolerance)
    if isinstance(segment, Move | Line):
        return end[None, :]
    if isinstance(segment, Arc):
        return _arc_points(segment, tolerance) if segment.rx and segment.ry else end[None, :]
    start = _xy(segment.start, tolerance)
    if isinstance(segment, QuadraticBezier):  # the same curve as a cubic, degree raised
        control = _xy(segment.control, tolerance)
        first, second = (start + 2 * control) / 3, (end + 2 * control) / 3
    else:
        assert isinstance(segment, CubicBezier)
        first, second = _xy(segment.control1, tolerance), _xy(segment.control2, tolerance)
    # halving divides the bend by four, so n equal parts divide it by n²
    if _bend(start, first, second, end) > 4 * tolerance * _MOST_POINTS**2:
        raise _too_many_points()
    return np.array(_cubic_points(start, first, second, end, tolerance))


def _xy(point: Any, tolerance: float) -> FloatArray:
    """(2,); refused so far off that a float could not tell a curve from its chord there."""
    if not (math.hypot(point.x, point.y) <= _FURTHEST * tolerance):  # NaN is refused too
        raise Unusable(
            f"the point ({point.x:g}, {point.y:g}) is absurdly far away", "Correct its numbers"
        )
    return np.array([point.x, point.y], dtype=np.float64)


def _too_many_points() -> Unusable:
    return Unusable(
        f"its curves need more than {_MOST_POINTS} points",
        "Check the unit and the curve, or give a larger `flatten`",
    )


def _bend(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> float:
    """Four times the most that a cubic can stray from its chord.

    With u = 3b - 2a - d and v = 3c - a - 2d the curve differs from its chord at the same
    parameter by t(1-t)²u + t²(1-t)v, at most t(1-t)·max(|u|, |v|) <= max(|u|, |v|) / 4.
    """
    u, v = 3 * b - 2 * a - d, 3 * c - a - 2 * d
    return max(math.hypot(*u), math.hypot(*v))


def _cubic_points(
    a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray, tolerance: float
) -> list[FloatArray]:
    """Halve a cubic (de Casteljau) until each part is flat; the points after `a`."""
    if _bend(a, b, c, d) <= 4 * tolerance:
        return [d]
    ab, bc, cd = (a + b) / 2, (b + c) / 2, (c + d) / 2
    abc, bcd = (ab + bc) / 2, (bc + cd) / 2
    middle = (abc + bcd) / 2
    return [
        *_cubic_points(a, ab, abc, middle, tolerance),
        *_cubic_points(middle, bcd, cd, d, tolerance),
    ]


def _arc_points(arc: Arc, tolerance: float) -> FloatArray:
    """Equal steps of angle: a chord over δ is at most r (1 - cos δ/2) inside, r the larger."""
    steps = arc_steps(max(abs(arc.rx), abs(arc.ry)), abs(float(arc.sweep)), tolerance)
    points = np.array([[p.x, p.y] for p in map(arc.point, np.linspace(0, 1, steps + 1)[1:])])
    points[-1] = arc.end.x, arc.end.y
    return points


def arc_steps(radius: float, sweep: float, tolerance: float) -> int:
    """Least number of equal chords that stay within `tolerance` of an arc of `sweep` radians."""
    if not math.isfinite(radius) or not math.isfinite(sweep):
        raise _too_many_points()
    if tolerance >= radius:
        widest = math.pi / 2
    else:  # 2·acos(1 - t/r), written so that a tiny t/r keeps its digits
        widest = 4 * math.asin(math.sqrt(tolerance / (2 * radius)))
    steps = max(1, math.ceil(sweep / min(widest, math.pi / 2) - 1e-9))
    if steps > _MOST_POINTS:
        raise _too_many_points()
    return steps
