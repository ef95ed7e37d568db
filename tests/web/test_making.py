"""New jobs made on the page: in the units given, and faults in the words of the page's fields."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.errors import FaultyInput
from marker.jobfile.reading import read_job
from marker.units import System
from marker.web.making import Dropped, Told, import_job, make_job


@pytest.mark.parametrize(
    ("waist", "system"), [("29 in", System.IMPERIAL), ("74 cm", System.METRIC), ("", System.METRIC)]
)
def test_a_garment_of_inches_is_shown_in_inches(tmp_path: Path, waist: str, system: System) -> None:
    asked = {"name": "skirt", "garment": "gathered skirt", "size": "38"}
    path = make_job(tmp_path, {**asked, "measures": {"waist": waist}})
    assert read_job(path).show.lead is system


@pytest.mark.parametrize("name", ["table.jpg", "notes.exe"])
def test_a_photo_without_a_reference_is_told_which_field_to_use(tmp_path: Path, name: str) -> None:
    with pytest.raises(FaultyInput) as refused:
        import_job(tmp_path, "paper", [Dropped(name, b"no picture")], Told())
    (fault,) = refused.value.faults
    assert "under 'In the photos lies'" in fault.remedy
    assert "--reference" not in fault.remedy
    assert list(tmp_path.iterdir()) == []
