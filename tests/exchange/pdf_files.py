"""PDF files written with pypdf from plain content streams, for the tests of reading them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    TextStringObject,
)

from marker.exchange.importing import Imported, Wanted, import_drawings
from marker.exchange.pdf.pdf_file import Pick
from marker.geometry.arrays import FloatArray

A4 = (595.0, 842.0)
PT = 72 / 25.4  # points to the millimetre


class PdfFolio:
    """A PDF in the making."""

    def __init__(self) -> None:
        self.writer = PdfWriter()

    def layer(self, name: str) -> Any:
        """An optional-content group."""
        group = DictionaryObject(
            {NameObject("/Type"): NameObject("/OCG"), NameObject("/Name"): TextStringObject(name)}
        )
        return self.writer._add_object(group)

    def form(self, content: str, matrix: Sequence[float], forms: Mapping[str, Any]) -> Any:
        """A drawing that others place by name."""
        stream = DecodedStreamObject()
        stream.set_data(content.encode())
        stream[NameObject("/Type")] = NameObject("/XObject")
        stream[NameObject("/Subtype")] = NameObject("/Form")
        stream[NameObject("/BBox")] = _array([0, 0, 9999, 9999])
        stream[NameObject("/Matrix")] = _array(matrix)
        stream[NameObject("/Resources")] = _named({"/XObject": _named(forms)})
        return self.writer._add_object(stream)

    def page(
        self,
        content: str,
        size: tuple[float, float] = A4,
        forms: Mapping[str, Any] | None = None,
        layers: Mapping[str, Any] | None = None,
        spaces: Mapping[str, Any] | None = None,
        states: Mapping[str, Any] | None = None,
        more: Mapping[str, Any] | None = None,
    ) -> None:
        """A page. more : further entries of its dictionary."""
        page = self.writer.add_blank_page(*size)
        stream = DecodedStreamObject()
        stream.set_data(content.encode())
        page[NameObject("/Contents")] = self.writer._add_object(stream)
        page[NameObject("/Resources")] = _named(
            {
                "/XObject": _named(forms or {}),
                "/Properties": _named(layers or {}),
                "/ColorSpace": _named(spaces or {}),
                "/ExtGState": _named(states or {}),
            }
        )
        page.update({NameObject(key): value for key, value in (more or {}).items()})

    def switch_off(self, groups: Sequence[Any]) -> None:
        """Have layers not shown."""
        self.writer.root_object[NameObject("/OCProperties")] = _named(
            {"/OCGs": ArrayObject(groups), "/D": _named({"/OFF": ArrayObject(groups)})}
        )

    def save(self, path: Path) -> Path:
        """Write the file."""
        self.writer.write(path)
        return path


def outline(points: Sequence[tuple[float, float]], scale: float = PT) -> str:
    """A closed line through points, stroked."""
    first, *rest = (f"{x * scale:.6f} {y * scale:.6f}" for x, y in points)
    return f"{first} m " + " ".join(f"{point} l" for point in rest) + " s\n"


def separation(ink: str) -> ArrayObject:
    """A colour space of one printing ink."""
    return ArrayObject(
        [NameObject("/Separation"), NameObject(f"/{ink}"), NameObject("/DeviceGray"), _named({})]
    )


def _array(numbers: Sequence[float]) -> ArrayObject:
    return ArrayObject([FloatObject(number) for number in numbers])


def _named(values: Mapping[str, Any]) -> DictionaryObject:
    return DictionaryObject({NameObject(_slashed(key)): value for key, value in values.items()})


def _slashed(name: str) -> str:
    return name if name.startswith("/") else f"/{name}"


def read(path: Path, pick: Pick | None = None, unit_mm: float | None = None) -> Imported:
    return import_drawings([path], Wanted(unit_mm, pick=pick or Pick()))


def measures(found: Imported) -> list[tuple[float, float]]:
    return [tuple(np.ptp(each.outline, axis=0).round(2).tolist()) for each in found.pieces]


def moved(points: FloatArray) -> FloatArray:
    """Its lower left corner at the origin."""
    shifted: FloatArray = points - points.min(axis=0)
    return shifted
