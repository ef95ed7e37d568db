"""DXF files for the corpus, written by ezdxf: plain drawings and patterns by ASTM D6673."""

from collections.abc import Callable
from io import StringIO
from itertools import pairwise
from typing import Any

from ezdxf.filemanagement import new
from ezdxf.math import Vec3

BOX = [(0, 0), (300, 0), (300, 200), (0, 200)]
ONE = [(300.0, 200.0)]
Draw = Callable[[Any], object]


def plain(draw: Draw, version: str = "R2000", units: int = 4) -> Callable[[], str]:
    """A drawing in mm, drawn in its model space."""

    def made() -> str:
        document = new(version, units=units)
        draw(document.modelspace())
        return text_of(document, units)

    return made


def text_of(document: Any, units: int = 4) -> str:
    stream = StringIO()
    document.header["$INSUNITS"] = units
    document.write(stream)
    return stream.getvalue()


def pattern(
    draw: Draw,
    insert: dict[str, Any] | None = None,
    beside: Draw = id,
    style: tuple[str, ...] = ("Units: METRIC",),
) -> Callable[[], str]:
    """A file by ASTM D6673 of one piece, FRONT, inserted as told; {} for nowhere."""

    def made() -> str:
        document = new("R12")
        space = document.modelspace()
        for k, words in enumerate(style):
            write(space, words, (0, -20 - 10 * k))
        draw(document.blocks.new("FRONT"))
        if insert is None or insert:
            space.add_blockref("FRONT", (0, 0), dxfattribs={"layer": "1"} | (insert or {}))
        beside(space)
        return text_of(document)

    return made


def sizes() -> str:
    """A piece in three sizes, a block each."""
    document = new("R12")
    space = document.modelspace()
    for k, size in ((1.0, "36"), (1.1, "38"), (1.2, "40")):
        block = document.blocks.new(f"F{size}")
        box(block, points=[(x * k, y) for x, y in BOX])
        write(block, "Piece Name: front")
        write(block, f"Size: {size}", (10, 20))
        space.add_blockref(f"F{size}", (0, 0), **on("1"))
    write(space, "Units: METRIC")
    write(space, "Sample Size: 38", (0, 30))
    return text_of(document)


def on(layer: str, **more: Any) -> dict[str, Any]:
    return {"dxfattribs": {"layer": layer} | more}


def write(space: Any, words: str, at: Any = (10, 10), layer: str = "1", **more: Any) -> Any:
    return space.add_text(words, **on(layer, insert=at, height=5, **more))


def box(space: Any, layer: str = "1", points: Any = BOX) -> Any:
    return space.add_polyline2d(points, close=True, **on(layer))


def lined(space: Any, *points: Any, layer: str = "0") -> list[Any]:
    return [space.add_line(one, other, **on(layer)) for one, other in pairwise(points)]


def frame_points(space: Any) -> None:
    """A box whose polyline also holds points that frame a curve."""
    line = box(space, "0")
    line.dxf.flags |= 4
    line.append_vertices([(900, 900), (900, 0)], {"flags": 16})


def nested(space: Any) -> None:
    """A box in a block in a block in a block."""
    space.doc.blocks.new("B0").add_lwpolyline(BOX, close=True)
    for k in range(3):
        space.doc.blocks.new(f"B{k + 1}").add_blockref(f"B{k}", (10, 0))
    space.add_blockref("B3", (5, 5))


def placed_text(space: Any, words: str, at: Any) -> Any:
    """A text that is centred on a place; where it begins does not matter then."""
    text = write(space, words, (-900, -900))
    text.dxf.align_point = Vec3(*at)
    text.dxf.halign = 1
    return text


def two_and_texts(space: Any) -> None:
    """A block with its text, and the mirror image of both."""
    block = space.doc.blocks.new("B")
    block.add_lwpolyline(BOX, close=True)
    write(block, "sleeve", (20, 20))
    space.add_blockref("B", (400, 0))
    space.add_blockref("B", (-400, 0), dxfattribs={"xscale": -1})


def both(space: Any, by: float = 0.0, layers: tuple[str, str] = ("0", "0")) -> list[Any]:
    moved = [(x + by, y) for x, y in BOX]
    return [
        space.add_lwpolyline(points, close=True, **on(layer))
        for points, layer in zip((BOX, moved), layers, strict=True)
    ]
