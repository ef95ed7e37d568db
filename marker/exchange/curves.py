"""Path data (SVG 2, chapter 9) as points: curves become chords within a stated distance."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
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

    Returns (n, 2) points in the path's own unit, y down. Then the index of each command's end point
    (the first is the start, Z has none), and whether Z closes the path.
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


def moved_path_data(path: Path, to_unit: FloatArray, number: int, by: complex, same: float) -> str:
    """Path data of a sub-path with a corner moved; its lines and curves follow.

    to_unit : (2, 3), takes the path's coordinates to those that are written, y down. number : of
    the corner, from 1, as `flatten` counts the ends of commands. by : how far, as written. same :
    ends of commands nearer to one another than this, as written, are one corner.
    A control point moves with the corner beside it. An arc keeps its radii; a reader enlarges those
    that no longer reach (SVG 2, section 9.5.1). Every command keeps its number.
    """
    ends = [each.end for each in path if not isinstance(each, Close)]
    demand_corner(number, len(ends))

    def written(point: Any) -> complex:
        x, y = to_unit[:, :2] @ (point.x, point.y) + to_unit[:, 2]
        return complex(x, y)

    corner = written(ends[number - 1])

    def beside(end: Any, point: Any) -> str:
        there = written(point) + (by if abs(written(end) - corner) <= same else 0)
        return f"{_plain(there.real)} {_plain(there.imag)}"

    return " ".join(_command(segment, to_unit[:, :2], beside) for segment in path)


def demand_corner(number: int, count: int) -> None:
    """Raise Unusable where an outline of so many corners has no corner of this number."""
    if not 1 <= number <= count:
        raise Unusable(
            f"there is no corner {number}",
            f"The outline has corners 1 to {count}, in the order drawn",
        )


def _command(segment: Any, linear: FloatArray, beside: Callable[[Any, Any], str]) -> str:
    """A command of path data. beside : writes a point that belongs to an end of the command."""
    if isinstance(segment, Close):
        return "Z"
    start, end = segment.start, segment.end
    to = beside(end, end)
    match segment:
        case Move():
            return f"M {to}"
        case Arc():
            return f"A {_ellipse(segment, linear)} {to}"
        case QuadraticBezier():  # as a cubic, so that each end has a control point of its own
            first, second = ((each + segment.control * 2) * (1 / 3) for each in (start, end))
            return f"C {beside(start, first)} {beside(end, second)} {to}"
        case CubicBezier():
            return f"C {beside(start, segment.control1)} {beside(end, segment.control2)} {to}"
        case _:
            return f"L {to}"


def _ellipse(arc: Arc, linear: FloatArray) -> str:
    """Radii, turn and flags of an arc as they are after a linear map (2, 2).

    The map takes the unit circle to the ellipse; its singular values are the radii.
    """
    turn = float(arc.get_rotation())
    axes = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    turned, radii, _ = np.linalg.svd(linear @ axes @ np.diag([arc.rx, arc.ry]))
    degrees = math.degrees(math.atan2(turned[1, 0], turned[0, 0]))
    forward = (arc.sweep > 0) == (np.linalg.det(linear) > 0)
    numbers = " ".join(map(_plain, (*radii, degrees)))
    return f"{numbers} {int(abs(arc.sweep) > math.pi)} {int(forward)}"


def _plain(number: float) -> str:
    """A number without an exponent, to a millionth."""
    return f"{number:.6f}".rstrip("0").rstrip(".")


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
