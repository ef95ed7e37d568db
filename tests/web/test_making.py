"""New jobs made on the page: in the units given, and faults in the words of the page's fields."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.errors import FaultyInput
from marker.jobfile.reading import read_job
from marker.units import System
from marker.web.dropped import Dropped, Told
from marker.web.making import import_job, make_job
from tests.web.browsing import photo


@pytest.mark.parametrize(
    ("waist", "system"), [("29 in", System.IMPERIAL), ("74 cm", System.METRIC), ("", System.METRIC)]
)
def test_a_garment_of_inches_is_shown_in_inches(tmp_path: Path, waist: str, system: System) -> None:
    asked = {"name": "skirt", "garment": "gathered skirt", "size": "38"}
    path = make_job(tmp_path, {**asked, "measures": {"waist": waist}})
    assert read_job(path).show.lead is system


def test_several_sizes_are_ordered_once_each(tmp_path: Path) -> None:
    asked = {"name": "skirt", "garment": "gathered skirt", "size": None, "sizes": "40, 36,38 "}
    job = read_job(make_job(tmp_path, asked))
    assert (job.sizes, job.order) == (("36", "38", "40"), {"36": 1, "38": 1, "40": 1})


BAG = {"name": "bag", "length": "40 cm", "width": "36 cm", "cut": "2", "allowance": "1 cm"}


def test_a_job_begins_with_a_rectangle(tmp_path: Path) -> None:
    asked = {"name": "choir bag", "cloth": {"name": "linen", "width": "1.4 m"}, "rectangle": BAG}
    job = read_job(make_job(tmp_path, asked))
    (piece,) = job.pattern.pieces
    assert (piece.name, piece.cut, job.cloths[0].name) == ("bag", 2, "linen")
    assert (job.cloths[0].width_mm, job.order) == (1400, {"one size": 1})


def test_what_no_job_begins_with_is_told_and_nothing_written(tmp_path: Path) -> None:
    cloth = {"name": 'a "b".c', "width": ""}
    asked = {"name": "bag", "cloth": cloth, "rectangle": BAG | {"name": "", "width": "0"}}
    with pytest.raises(FaultyInput) as refused:
        make_job(tmp_path, asked)
    places = " ".join(fault.place for fault in refused.value.faults)
    assert "cloth" in places
    assert "piece 1" in places
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["table.jpg", "notes.exe"])
def test_a_photo_without_a_reference_is_told_which_field_to_use(tmp_path: Path, name: str) -> None:
    with pytest.raises(FaultyInput) as refused:
        import_job(tmp_path, "paper", [Dropped(name, b"no picture")], Told())
    (fault,) = refused.value.faults
    assert "under 'In the photos lies'" in fault.remedy
    assert "--reference" not in fault.remedy
    assert list(tmp_path.iterdir()) == []


def test_a_drawing_without_a_unit_is_told_which_field_to_use(tmp_path: Path) -> None:
    bare = PANEL.replace(b'width="300mm" height="200mm" ', b"")
    with pytest.raises(FaultyInput, match="under 'One unit is'") as refused:
        import_job(tmp_path, "banner", [Dropped("panel.svg", bare)], Told(width="1.4 m"))
    assert "--units" not in str(refused.value)


def test_drawings_keep_their_names_and_an_empty_one_is_told(tmp_path: Path) -> None:
    twice = [Dropped("panel.svg", PANEL), Dropped("back.svg", PANEL.replace(b"panel", b"back"))]
    path, lines, _ = import_job(tmp_path, "banner ", twice, Told(width="1.4 m"))
    assert lines[0].startswith("banner: 2 pieces")
    assert "# Imported: panel.svg, back.svg." in path.read_text(encoding="utf-8")
    assert any(line.startswith("  panel:") for line in lines)
    assert "  panel.svg: one unit is 1 mm, by its width, height and viewBox" in lines
    with pytest.raises(FaultyInput, match="the file is empty"):
        import_job(tmp_path, "other", [Dropped("panel.svg", b"")], Told(width="1.4 m"))


PANEL = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">'
    b'<rect id="panel" x="10" y="10" width="200" height="120"/></svg>'
)


def test_a_drawing_that_says_no_width_needs_one(tmp_path: Path) -> None:
    with pytest.raises(FaultyInput, match="how wide the cloth is"):
        import_job(tmp_path, "banner", [Dropped("panel.svg", PANEL)], Told())
    assert list(tmp_path.iterdir()) == []
    path, _, _ = import_job(tmp_path, "banner", [Dropped("panel.svg", PANEL)], Told(width="1.4 m"))
    assert read_job(path).cloths[0].width_mm == 1400


@pytest.mark.parametrize(("grain", "degrees"), [("up", 90.0), ("right", 0.0)])
def test_the_grain_of_a_photo_is_said_beside_it(tmp_path: Path, grain: str, degrees: float) -> None:
    told = Told(width="150 cm", reference="a4", grain=grain)
    path, _, _ = import_job(tmp_path, "paper", [Dropped("table.jpg", photo())], told)
    (piece,) = read_job(path).pattern.pieces
    assert piece.grain_deg == degrees
