"""What PDFium tells of a PDF's lines: `python -m tests.benchmarks.pdfium`; it needs pypdfium2.

Prints what its raw interface gives of each object of a page that has what patterns have: layers by
marked content, by a membership dictionary and on a form. Dashes, inks, clipping paths. Then how
long and with how much memory it reads pages that are made to harm. `marker.exchange.pdf.content`
says what follows from it.
"""

from __future__ import annotations

import ctypes
import resource
import time
import zlib
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from pypdf.generic import ArrayObject, DictionaryObject, NameObject, StreamObject

from tests.exchange.pdf_files import PdfFolio, outline, separation

KINDS = {1: "text", 2: "path", 3: "picture", 4: "shading", 5: "form"}
CUFF = outline([(0, 0), (80, 0), (80, 50), (0, 50)])


def _sample() -> PdfFolio:
    folio = PdfFolio()
    small, large = folio.layer("size 36"), folio.layer("size 40")
    both = folio.writer._add_object(
        DictionaryObject(
            {
                NameObject("/Type"): NameObject("/OCMD"),
                NameObject("/OCGs"): ArrayObject([small, large]),
            }
        )
    )
    form = folio.form(f"[3 1.5] 0 d {CUFF}", [2, 0, 0, 2, 0, 0], {})
    form.get_object()[NameObject("/OC")] = large
    folio.page(
        f"/OC /s BDC {CUFF} EMC /OC /m BDC {CUFF} EMC /ink CS 1 SCN {CUFF} "
        f"0 0.5 0.5 0 K {CUFF} q 10 10 50 50 re W n {CUFF} Q /f Do",
        layers={"s": small, "m": both},
        spaces={"ink": separation("Cutline")},
        forms={"f": form},
    )
    folio.switch_off([large])
    return folio


def _doubled(depth: int) -> PdfFolio:
    """Forms that place the one before twice each."""
    folio = PdfFolio()
    form = folio.form(CUFF, [1, 0, 0, 1, 0, 0], {})
    for _ in range(depth):
        form = folio.form("/i Do /i Do", [1, 0, 0, 1, 0, 0], {"i": form})
    folio.page("/i Do", forms={"i": form})
    return folio


def _packed(megabytes: int) -> PdfFolio:
    """A page whose content unpacks to so much."""
    folio = PdfFolio()
    folio.page(CUFF)
    stream = StreamObject()
    stream._data = zlib.compress(b"0 0 m 1 1 l S " * (megabytes * 1_000_000 // 14))
    stream[NameObject("/Filter")] = NameObject("/FlateDecode")
    folio.writer.pages[0][NameObject("/Contents")] = folio.writer._add_object(stream)
    return folio


def _objects(raw: Any, container: Any, is_form: bool) -> Iterator[Any]:
    count = raw.FPDFFormObj_CountObjects if is_form else raw.FPDFPage_CountObjects
    give = raw.FPDFFormObj_GetObject if is_form else raw.FPDFPage_GetObject
    for number in range(count(container)):
        yield give(container, number)


def _told(raw: Any, item: Any) -> str:
    dashes = (ctypes.c_float * 8)()
    raw.FPDFPageObj_GetDashArray(item, dashes, raw.FPDFPageObj_GetDashCount(item))
    colour = [ctypes.c_uint() for _ in range(4)]
    raw.FPDFPageObj_GetStrokeColor(item, *colour)
    clips = raw.FPDFClipPath_CountPaths(raw.FPDFPageObj_GetClipPath(item))
    marks = [
        _string(raw, raw.FPDFPageObj_GetMark(item, number))
        for number in range(raw.FPDFPageObj_CountMarks(item))
    ]
    shown = [part.value for part in colour[:3]]
    lengths = list(dashes)[: max(raw.FPDFPageObj_GetDashCount(item), 0)]
    return f"colour {shown}, dashes {lengths}, clipping paths {clips}, layers {marks}"


def _string(raw: Any, mark: Any) -> str:
    length, text = ctypes.c_ulong(), (ctypes.c_ushort * 64)()
    found = raw.FPDFPageObjMark_GetParamStringValue(mark, b"Name", text, 128, length)
    return bytes(text)[: length.value - 2].decode("utf-16-le") if found else "no name"


def _show(raw: Any, container: Any, is_form: bool = False, depth: int = 0) -> None:
    for item in _objects(raw, container, is_form):
        kind = raw.FPDFPageObj_GetType(item)
        print("  " * depth, KINDS[kind], _told(raw, item))
        if KINDS[kind] == "form":
            _show(raw, item, True, depth + 1)


def main() -> None:
    """Print what is found."""
    import pypdfium2
    import pypdfium2.raw as raw

    print(pypdfium2.version.PYPDFIUM_INFO, pypdfium2.version.PDFIUM_INFO)
    hostile = {
        "forms placed twice each, 18 deep": _doubled(18),
        "content of 100 MB, packed": _packed(100),
    }
    with TemporaryDirectory() as folder:
        path = _sample().save(Path(folder) / "sample.pdf")
        document = pypdfium2.PdfDocument(path)
        page = document[0]  # a name, or it is gone before its objects are looked at
        _show(raw, page.raw)
        for name, folio in hostile.items():
            path = folio.save(Path(folder) / "hostile.pdf")
            began = time.perf_counter()
            document = pypdfium2.PdfDocument(path)
            page = document[0]
            took = time.perf_counter() - began
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
            print(f"{name}: a file of {path.stat().st_size} bytes, {took:.1f} s, {peak:.0f} MB")


if __name__ == "__main__":
    main()
