"""PDF files made to stall or swell a reader, locked, cut short or without a drawing end in a clear
fault, soon; what stops each is a count, named in its message."""

from __future__ import annotations

import resource
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf.generic import EncodedStreamObject, NameObject, NullObject

from marker.errors import FaultyInput
from marker.exchange.importing import import_drawings
from marker.files.budget import Most
from tests.exchange.pdf_files import PdfFolio, outline
from tests.exchange.test_hostile_drawings import MOST_KB, MOST_SECONDS

SQUARE = outline([(0, 0), (90, 0), (90, 90)])


def locked(path: Path) -> None:
    folio = PdfFolio()
    folio.page(SQUARE)
    folio.writer.encrypt("choir", algorithm="RC4-128")
    folio.save(path)


def picture(path: Path) -> None:
    folio = PdfFolio()
    image = folio.form("", [1, 0, 0, 1, 0, 0], {})
    image.get_object()[NameObject("/Subtype")] = NameObject("/Image")
    folio.page("/im Do", forms={"im": image})
    folio.save(path)


def cut_short(path: Path) -> None:
    folio = PdfFolio()
    folio.page(SQUARE)
    folio.save(path)
    path.write_bytes(path.read_bytes()[:-40])


def no_table(path: Path) -> None:
    path.write_bytes(b"%PDF-1.7\nnothing\n%%EOF\n")


def bomb(path: Path) -> None:
    """A stream of 60 kB that unpacks to 60 MB."""
    folio = PdfFolio()
    stream = EncodedStreamObject()
    stream._data = zlib.compress(b"0 0 m 9 9 l S " * 4_000_000, 9)
    stream[NameObject("/Filter")] = NameObject("/FlateDecode")
    folio.page("")
    folio.writer.pages[0][NameObject("/Contents")] = folio.writer._add_object(stream)
    folio.save(path)


def forms_in_forms(path: Path) -> None:
    """Ten levels that each place the next ten times."""
    folio = PdfFolio()
    inner = folio.form(SQUARE, [1, 0, 0, 1, 0, 0], {})
    for _ in range(10):
        inner = folio.form("/in Do " * 10, [1, 0, 0, 1, 0, 0], {"in": inner})
    folio.page("/in Do", forms={"in": inner})
    folio.save(path)


def form_in_itself(path: Path) -> None:
    folio = PdfFolio()
    form = folio.form("/in Do", [1, 0, 0, 1, 0, 0], {"in": NullObject()})
    form.get_object()["/Resources"]["/XObject"][NameObject("/in")] = form
    folio.page("/in Do", forms={"in": form})
    folio.save(path)


def endless(path: Path) -> None:
    folio = PdfFolio()
    folio.page("q Q " * 45_000)
    folio.save(path)


def far_away(path: Path) -> None:
    folio = PdfFolio()
    folio.page(f"0 0 m 1{'0' * 30} 0 l 9 1{'0' * 30} l s")
    folio.save(path)


def broken_numbers(path: Path) -> None:
    folio = PdfFolio()
    folio.page("1 2 m 3 l c 4 re S")
    folio.save(path)


def clipped_again_and_again(path: Path) -> None:
    folio = PdfFolio()
    folio.page("0 0 m 5 5 l " * 8_000 + "W " * 40_000 + "n")
    folio.save(path)


def lines_without_end(path: Path) -> None:
    """Each as long as its page, and in the same place on both."""
    folio = PdfFolio()
    for _ in range(2):
        folio.page("".join(f"{k / 4} 0 m {k / 4} 842 l S\n" for k in range(2_000)))
    folio.save(path)


def many_pages(path: Path) -> None:
    folio = PdfFolio()
    for _ in range(200):
        folio.page(SQUARE)
    folio.save(path)


HOSTILE: dict[Callable[[Path], None], str] = {
    locked: "locked by a password",
    picture: r"no drawn line in it \(1 pictures\)",
    cut_short: "ends in the middle",
    no_table: "the PDF is broken",
    bomb: "unpacks to far more",
    forms_in_forms: r"draws more than a pattern does \(40000 steps\)",
    form_in_itself: "nested deeper than 12",
    endless: r"draws more than a pattern does \(40000 steps\)",
    clipped_again_and_again: r"draws more than a pattern does \(40000 steps\)",
    lines_without_end: r"draws more than a pattern does \(40000 steps\)",
    far_away: "absurdly far away",
    broken_numbers: "the PDF is broken",
    many_pages: "200 pages, more than 150",
}


@pytest.fixture(autouse=True)
def _a_tenth_of_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reaching the true one takes some seconds."""
    monkeypatch.setattr(Most.PDF_STEPS, "most", 40_000)


def peak_kb() -> int:
    """Most memory of this process so far, whatever other tests took."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


@pytest.mark.parametrize("make", HOSTILE, ids=lambda make: make.__name__)
def test_a_hostile_pdf_ends_in_a_clear_fault(make: Callable[[Path], None], tmp_path: Path) -> None:
    path = tmp_path / "hostile.pdf"
    make(path)
    started, before = time.process_time(), peak_kb()
    with pytest.raises(FaultyInput, match=HOSTILE[make]) as raised:
        import_drawings([path])
    assert time.process_time() - started < MOST_SECONDS
    assert raised.value.faults[0].remedy
    assert peak_kb() - before < MOST_KB
