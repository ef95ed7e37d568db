"""What PDF content says of the looks of lines, colour and dashes, and of the layers they lie on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from marker.canvas.to_pdf import LAYER_TAG

if TYPE_CHECKING:
    from pypdf import PdfReader

BLACK = "#000000"
COLOURS = (b"G", b"RG", b"K", b"CS", b"SC", b"SCN")
LOOKS = (*COLOURS, b"d", b"gs")
SOLID = "none"
_MOST_DASHES = 8  # that tell a line from others


@dataclass(frozen=True)
class Ink:
    """What lines are drawn with. colour : '#rrggbb', or the name of a printing ink. space : the
    colour space that its numbers are of, None for grey, RGB or CMYK. dashes : lengths drawn and
    left out by turns, () for solid lines."""

    colour: str = BLACK
    space: Any = None
    dashes: tuple[float, ...] = ()

    def after(self, operator: bytes, operands: Sequence[Any], resources: Any) -> Ink:
        """The ink once one of LOOKS has been carried out."""
        if operator == b"d":
            return self._dashed(operands[0])
        if operator == b"gs":
            state = resources["/ExtGState"][operands[0]].get_object()
            return self._dashed(state["/D"][0]) if "/D" in state else self
        if operator == b"CS":
            space = (resources.get("/ColorSpace") or {}).get(operands[0], operands[0])
            return replace(self, colour=BLACK, space=space.get_object())
        values = [float(value) for value in operands if not isinstance(value, str)]
        if operator not in (b"SC", b"SCN"):
            return replace(self, colour=_hex(values), space=None)
        colour = _hex(values) if len(values) in (1, 3, 4) else "a pattern"
        return replace(self, colour=_separation(self.space) or colour)

    def _dashed(self, lengths: Any) -> Ink:
        first = tuple(float(length) for length in lengths[:_MOST_DASHES])
        return replace(self, dashes=first if any(first) else ())

    def dashes_named(self, unit_mm: float) -> str:
        """'3-1.5' for dashes of 3 mm, 1.5 mm apart."""
        lengths = [f"{length * unit_mm:.1f}".removesuffix(".0") for length in self.dashes]
        return "-".join(lengths[:_MOST_DASHES]) or SOLID


PLAIN = Ink()


def _separation(space: Any) -> str:
    """The name of the ink of a Separation space; '' for any other."""
    if isinstance(space, list) and len(space) > 1 and space[0] == "/Separation":
        return str(space[1]).removeprefix("/")
    return ""


def _hex(values: Sequence[float]) -> str:
    """Grey, RGB or CMYK, each from 0 to 1, as '#rrggbb'; CMYK by the plain rule of ISO 32000-1,
    10.3.5."""
    if len(values) == 1:
        rgb = [values[0]] * 3
    elif len(values) == 3:
        rgb = list(values)
    else:
        *ink, black = values
        rgb = [1.0 - min(1.0, part + black) for part in ink]
    return "#" + "".join(f"{round(255 * min(max(part, 0.0), 1.0)):02x}" for part in rgb)


def layers_opened(operands: Sequence[Any], resources: Any) -> tuple[str, ...]:
    """The layers that marked content opens, in files of ours too; () where it marks something
    else."""
    if len(operands) == 2 and operands[0] == f"/{LAYER_TAG}" and isinstance(operands[1], dict):
        return (str(operands[1].get("/Name", "")),)
    if len(operands) < 2 or operands[0] != "/OC":
        return ()
    properties = resources.get("/Properties") or {}
    return layer_names(properties.get(operands[1]))


def layer_names(group: Any) -> tuple[str, ...]:
    """Of an optional-content group, or of all groups of a membership dictionary."""
    if group is None:
        return ()
    found = group.get_object()
    if found.get("/Type") == "/OCMD":
        groups = found.get("/OCGs")
        several = groups.get_object() if groups is not None else []
        return tuple(
            name
            for each in (several if isinstance(several, list) else [several])
            for name in layer_names(each)
        )
    return (" ".join(str(found.get("/Name", "")).split()),)


def switched_off(reader: PdfReader) -> frozenset[str]:
    """Names of the layers that the file does not show."""
    catalog: Any = reader.trailer["/Root"]
    properties = catalog.get("/OCProperties")
    if properties is None:
        return frozenset()
    default = properties.get_object().get("/D")
    off = default.get_object().get("/OFF") if default is not None else None
    return frozenset(name for group in (off or []) for name in layer_names(group))
