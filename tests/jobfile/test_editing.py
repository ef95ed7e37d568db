"""A job file is changed, checked, written and taken back."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.errors import FaultyInput
from marker.files.faults import Unusable
from marker.jobfile.editing import JobText, Patch, load
from marker.jobfile.new_job import starter_job


@pytest.fixture
def tabard(tmp_path: Path) -> JobText:
    path = tmp_path / "job.toml"
    path.write_text(starter_job("tabard"), encoding="utf-8")
    return load(path)


def test_a_change_is_checked_and_written(tabard: JobText) -> None:
    changed = tabard.set(("piece", "front", "edges", "waist"), [3, 4])
    changed = changed.set(("piece", "front", "notches", 1), {"edge": "waist", "at": "5 mm"})
    assert changed.faults == ()
    assert tabard.path.read_text() == tabard.text
    written = changed.write()
    assert written.path.read_text() == changed.text
    assert load(written.path).text == changed.text


def test_a_faulty_text_is_written_only_when_told(tabard: JobText) -> None:
    faulty = tabard.remove(("piece", "front", "edges", "side"))
    assert [fault.line > 0 for fault in faulty.faults] == [True, True]
    with pytest.raises(FaultyInput) as raised:
        faulty.write()
    assert raised.value.faults == faulty.faults
    assert tabard.path.read_text() == tabard.text
    faulty.write(although_faulty=True)
    assert load(tabard.path).faults == faulty.faults


def test_what_a_person_wrote_meanwhile_is_not_lost(tabard: JobText) -> None:
    changed = tabard.set(("cloth", "crepe", "width"), "150 cm")
    tabard.path.write_text(tabard.text + "# mine\n")
    with pytest.raises(FaultyInput, match="has changed since"):
        changed.write()
    assert tabard.path.read_text().endswith("# mine\n")


def test_a_patch_takes_a_change_back_and_makes_it_again(tabard: JobText) -> None:
    changed = tabard.set(("seam", 2), {"name": "neck", "sides": ["front.neck", "back.neck"]})
    patch = Patch.between(tabard.text, changed.text)
    assert patch.removed == ""
    assert changed.patched(patch.undone) == tabard
    assert tabard.patched(patch) == changed
    with pytest.raises(FaultyInput, match="changed in between"):
        tabard.patched(patch.undone)


@pytest.mark.parametrize(("before", "after"), [("", ""), ("aab", "ab"), ("ab", "aab"), ("a", "b")])
def test_a_patch_is_what_two_texts_differ_by(before: str, after: str) -> None:
    patch = Patch.between(before, after)
    assert patch.applied(before) == after
    assert patch.undone.applied(after) == before
    assert len(patch.removed) + len(patch.added) <= 2
    with pytest.raises(Unusable):
        Patch(0, "x", "").applied(before)


def test_an_impossible_place_is_named(tabard: JobText) -> None:
    with pytest.raises(FaultyInput) as raised:
        tabard.set(("seam", "waist", "tolerance"), "3 mm")
    assert str(tabard.path) in raised.value.faults[0].place
    assert "seam.waist.tolerance" in raised.value.faults[0].place
    assert "'shoulder'" in raised.value.faults[0].remedy


def test_what_is_no_toml_is_not_loaded(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("name = = 3")
    with pytest.raises(FaultyInput, match="broken TOML"):
        load(tmp_path / "job.toml")
