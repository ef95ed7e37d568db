"""Outlines out of SVG drawings. The scale is the drawing's own or stated; it is never guessed."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import reduce
from pathlib import Path
from typing import NoReturn
from xml.etree import ElementTree
from xml.etree.ElementTree import Element
from xml.parsers import expat

import numpy as np
import svgelements

from marker.exchange.curves import parse_path, parse_sub_paths
from marker.exchange.outlines import Drawn, flattened, with_cutouts
from marker.files.budget import Most
from marker.files.faults import Unusable, nearest
from marker.files.reading import read_bytes
from marker.files.values import unit_mm
from marker.geometry.arrays import FloatArray

# CSS physical units: 1 in = 72 pt = 6 pc (CSS Values and Units 4, section 6.2)
_PHYSICAL_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6}
_NUMBER = r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?"
_TRANSFORM = re.compile(
    r"(?:[\s,]*(?:matrix|translate|scale|rotate|skewX|skewY)"
    rf"\s*\(\s*{_NUMBER}(?:[\s,]+{_NUMBER}|(?=[-+]){_NUMBER})*\s*\))*[\s,]*"
)
SHAPES = ("path", "polygon", "polyline", "rect", "circle", "ellipse")  # that may be outlines


@dataclass(frozen=True)
class Drawing:
    """A drawing that passed the screen, its elements by id, and the element around each."""

    root: Element
    by_id: dict[str, Element]
    parents: dict[Element, Element]

    def chain(self, element: Element) -> list[Element]:
        """Elements from the root to `element`, both included."""
        chain = [element]
        while chain[-1] in self.parents:
            chain.append(self.parents[chain[-1]])
        return chain[::-1]


def read_drawing(path: Path) -> Drawing:
    """The drawing in an SVG file; raises Unusable if it is none or does more than draw."""
    content = read_bytes(path)
    if not content.strip():
        raise Unusable("the file is empty", "Save the drawing again")
    _screen(content)
    try:
        root = ElementTree.fromstring(content)
    except ElementTree.ParseError as error:  # of names that only this parser refuses
        line, column = error.position
        said = f"it is not well-formed SVG (line {line}, column {column + 1})"
        raise Unusable(said, "Save it again as a plain SVG drawing") from error
    if tag_of(root) != "svg":
        raise Unusable("it is not an SVG drawing", "Name an SVG file")
    if any(tag_of(e) == "style" and "transform" in (e.text or "") for e in root.iter()):
        raise Unusable(
            "its style sheet moves elements", "Save it with transforms as plain attributes"
        )
    by_id: dict[str, Element] = {}
    for element in root.iter():
        name = element.get("id")
        if name in by_id:
            raise Unusable(f"two elements have the id '{name}'", "Give each its own id")
        if name:
            by_id[name] = element
    return Drawing(root, by_id, {inner: outer for outer in root.iter() for inner in outer})


def outline_in(drawing: Drawing, name: str, drawing_unit: str | None, flatten_mm: float) -> Drawn:
    """Outline of the element with id `name`, mm, y up, in the order drawn.

    Of a path of several sub-paths the largest is the outline and the others are cut-outs.
    """
    paths, to_mm = _placed(drawing, name, drawing_unit)
    return with_cutouts([flattened(path, to_mm, flatten_mm) for path in paths])


def path_in(
    drawing: Drawing, name: str, drawing_unit: str | None
) -> tuple[svgelements.Path, FloatArray]:
    """The same outline as a path, and (2, 3) what takes it to mm, y down.

    Raises Unusable if it has cut-outs.
    """
    paths, to_mm = _placed(drawing, name, drawing_unit)
    if len(paths) > 1:
        raise Unusable("the outline has cut-outs", "Correct it in its drawing")
    return paths[0], to_mm * [[1], [-1]]


def _placed(
    drawing: Drawing, name: str, drawing_unit: str | None
) -> tuple[list[svgelements.Path], FloatArray]:
    """The sub-paths of a shape in its own coordinates, and (2, 3) what takes them to mm, y up."""
    if name not in drawing.by_id:
        raise Unusable(f"there is no element with the id '{name}'", nearest(name, drawing.by_id))
    shape = _one_shape(drawing.by_id[name], name)
    chain = drawing.chain(shape)
    if any(tag_of(element) == "svg" for element in chain[1:]):
        raise Unusable(f"'{name}' lies in a drawing inside the drawing", "Move it to the outer one")
    across, down = _scale(drawing.root, drawing_unit)
    to_mm = np.diag([across, -down]) @ reduce(np.matmul, map(transform_of, chain))[:2]
    return paths_of(shape), to_mm


def _one_shape(element: Element, name: str) -> Element:
    """The one shape that `element` is or holds."""
    shapes = [inner for inner in element.iter() if tag_of(inner) in SHAPES]
    if len(shapes) != 1:
        raise Unusable(
            f"'{name}' holds {len(shapes)} shapes, not one", f"Use one of {', '.join(SHAPES)}"
        )
    return shapes[0]


def own_scale(root: Element) -> tuple[float, float] | None:
    """Millimetres of one user unit, along x and along y, by the drawing's own physical size."""
    width, height = _physical_mm(root.get("width")), _physical_mm(root.get("height"))
    if width is None or height is None or root.get("viewBox") is None:
        return None
    return _view_box_scale(root, width, height)


def _scale(root: Element, drawing_unit: str | None) -> tuple[float, float]:
    """Millimetres of one user unit, along x and along y: the drawing's own or the unit's."""
    own = own_scale(root)
    if own is None:
        if drawing_unit is None:
            raise Unusable(
                "the drawing does not say how large it is: it needs width and height in mm, cm, "
                "in, pt or pc, and a viewBox",
                'Save it in mm, or say what one unit measures, as in drawing_unit = "mm" '
                '("1/96 in" if it counts 96 px to the inch)',
            )
        return (unit_mm(drawing_unit),) * 2
    if drawing_unit is not None:
        raise Unusable("the drawing has its own physical size", "Leave out drawing_unit")
    return own


def _view_box_scale(root: Element, width: float, height: float) -> tuple[float, float]:
    """Scale by viewBox and preserveAspectRatio (SVG 2, sections 8.6 and 8.7)."""
    box = view_box(root)
    if box is None:
        raise Unusable("its viewBox is not four numbers", "Save the drawing again")
    across, down = box[2:].tolist()
    if not (across > 0 and down > 0 and width > 0 and height > 0):
        raise Unusable("its width, height or viewBox has no size", "Save the drawing again")
    fit = root.get("preserveAspectRatio", "xMidYMid meet").split()
    if fit[0] == "none":
        return width / across, height / down
    choose = max if fit[-1] == "slice" else min
    return (choose(width / across, height / down),) * 2


def viewport(element: Element, width: float, height: float) -> FloatArray:
    """(3, 3): from the coordinates inside an element with a viewBox, shown so large, to those
    around it but for its own x and y (SVG 2, section 8.2)."""
    box = view_box(element)
    if box is None:
        return np.eye(3)
    left, top, across, down = box.tolist()
    if not (across > 0 and down > 0 and width > 0 and height > 0):
        raise Unusable("its width, height or viewBox has no size", "Save the drawing again")
    scale = np.array([width / across, height / down])
    fit = element.get("preserveAspectRatio", "xMidYMid meet").split() or ["none"]
    if fit[0] != "none":
        scale[:] = scale.max() if fit[-1] == "slice" else scale.min()
    part = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    align = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", fit[0])
    parts = np.array([part[word] for word in align.groups()]) if align else np.zeros(2)
    spare = parts * (np.array([width, height]) - scale * (across, down))
    shift = spare - scale * (left, top)
    return np.array([[scale[0], 0.0, shift[0]], [0.0, scale[1], shift[1]], [0.0, 0.0, 1.0]])


def view_box(element: Element) -> FloatArray | None:
    """(4,) x, y, width, height of an element's viewBox; None where it has none that is sound."""
    numbers = re.split(r"[\s,]+", element.get("viewBox", "").strip())
    if len(numbers) != 4 or not all(re.fullmatch(_NUMBER, number) for number in numbers):
        return None
    return np.array([float(number) for number in numbers])


def _physical_mm(text: str | None) -> float | None:
    match = re.fullmatch(rf"\s*({_NUMBER})\s*(mm|cm|in|pt|pc)\s*", text or "", re.IGNORECASE)
    size = float(match[1]) * _PHYSICAL_MM[match[2].lower()] if match else math.inf
    return size if math.isfinite(size) else None


def transform_of(element: Element) -> FloatArray:
    """(3, 3): from the coordinates inside an element to those around it."""
    text = element.get("transform", "")
    if not _TRANSFORM.fullmatch(text) or "transform" in element.get("style", ""):
        raise Unusable(
            f"the transform of <{tag_of(element)}> is not plain SVG",
            "Save it as a transform attribute with plain numbers",
        )
    try:
        m = svgelements.Matrix(text)
    except (ValueError, IndexError) as error:
        raise Unusable(
            f"the transform {text[:40]!r} lacks numbers", "Save the drawing again"
        ) from error
    return np.array([[m.a, m.c, m.e], [m.b, m.d, m.f], [0.0, 0.0, 1.0]])


def paths_of(shape: Element) -> list[svgelements.Path]:
    """The sub-paths of a shape, in its own coordinates, y down."""
    match tag_of(shape):
        case "path":
            return parse_sub_paths(shape.get("d", ""))
        case "polygon":
            return [parse_path(f"M {shape.get('points', '')} Z")]
        case "polyline":
            return [parse_path(f"M {shape.get('points', '')}")]
        case "line":
            ends = _numbers(shape, (), ("x1", "y1", "x2", "y2"))
            x1, y1, x2, y2 = (ends.get(key, 0.0) for key in ("x1", "y1", "x2", "y2"))
            return [
                svgelements.Path(svgelements.Move((x1, y1)), svgelements.Line((x1, y1), (x2, y2)))
            ]
        case "rect":
            sizes, others = ("width", "height"), ("x", "y", "rx", "ry")
            return [svgelements.Path(svgelements.Rect(**_numbers(shape, sizes, others)))]
        case "circle":
            return [svgelements.Path(svgelements.Circle(**_numbers(shape, ("r",), ("cx", "cy"))))]
        case _:
            numbers = _numbers(shape, ("rx", "ry"), ("cx", "cy"))
            return [svgelements.Path(svgelements.Ellipse(**numbers))]


def _numbers(shape: Element, sizes: tuple[str, ...], others: tuple[str, ...]) -> dict[str, float]:
    """Attributes in user units: all `sizes`, and those of `others` given."""
    given = {key: shape.get(key, "") for key in (*sizes, *others) if shape.get(key)}
    numbers = {}
    for key, text in given.items():
        number = user_units(text)
        if number is None:
            raise Unusable(
                f"{key}={text.strip()!r} of the <{tag_of(shape)}> is not a plain number",
                "Turn the shape into a path",
            )
        numbers[key] = number
    if any(numbers.get(key, 0.0) <= 0 for key in sizes):
        raise Unusable(
            f"the <{tag_of(shape)}> has no size", f"Give it {' and '.join(sizes)} above 0"
        )
    return numbers


def user_units(text: str) -> float | None:
    """A length in user units, of which CSS counts 96 to the inch; None if it is none."""
    if re.fullmatch(rf"\s*{_NUMBER}\s*(px)?\s*", text):
        return float(text.strip().removesuffix("px"))
    physical = _physical_mm(text)
    return None if physical is None else physical * 96 / 25.4


def tag_of(element: Element) -> str:
    """The element's name without its namespace, "" for a comment."""
    return element.tag.rsplit("}", 1)[-1] if isinstance(element.tag, str) else ""


_OUTSIDE = re.compile(r"@import|url\(\s*(?:['\"]\s*)?(?!#)[^\s)'\"]", re.IGNORECASE)
_PLAIN = "Save it again as a plain SVG drawing"


def _screen(content: bytes) -> None:
    """Raise Unusable for scripts, entities, references to anything outside, or absurd nesting.

    The expat parser walks the file without building it and stops at the first offence, so that
    no entity is ever expanded and no encoding hides one.
    """
    parser = expat.ParserCreate()
    depth = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        Most.SVG_DEPTH.demand(depth)
        _check_element(name, attributes)

    def end(_name: str) -> None:
        nonlocal depth
        depth -= 1

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.StartDoctypeDeclHandler = _check_doctype
    parser.EntityDeclHandler = _refuse_entity
    parser.ProcessingInstructionHandler = _check_instruction
    parser.CharacterDataHandler = _check_text
    parser.buffer_text = True
    try:
        parser.Parse(content, True)
    except expat.ExpatError as error:
        raise Unusable(
            f"it is not well-formed SVG (line {error.lineno}, column {error.offset + 1})", _PLAIN
        ) from error
    except (ValueError, LookupError) as error:  # encodings that expat does not know
        raise Unusable("its encoding can't be read", "Save it again in UTF-8") from error


def _check_element(name: str, attributes: dict[str, str]) -> None:
    if _local(name) == "script":
        raise Unusable("it holds a script", _PLAIN)
    for key, value in attributes.items():
        if _local(key).startswith("on"):
            raise Unusable(f"it holds a script ({key})", _PLAIN)
        if _local(key) == "href" and not value.strip().startswith("#"):
            raise Unusable(f"it refers to something outside itself ({value[:40]!r})", _PLAIN)
        _check_text(value)


def _check_text(text: str) -> None:
    if _OUTSIDE.search(text):
        raise Unusable("its style refers to something outside itself", _PLAIN)


def _check_doctype(
    _name: str, _system: str | None, _public: str | None, has_internal_subset: bool
) -> None:
    if has_internal_subset:
        raise Unusable("its DOCTYPE declares entities or other rules of its own", _PLAIN)


def _refuse_entity(*_declaration: object) -> NoReturn:
    raise Unusable("it declares an entity", _PLAIN)


def _check_instruction(target: str, _data: str) -> None:
    if target == "xml-stylesheet":
        raise Unusable("it refers to a style sheet outside itself", _PLAIN)


def _local(name: str) -> str:
    return name.rsplit(":", 1)[-1].lower()
