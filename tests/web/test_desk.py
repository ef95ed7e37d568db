"""A job at work: laid, pinned, undone, kept, stored, and never an unchecked layout."""

from __future__ import annotations

import json
import time
from io import BytesIO
from pathlib import Path
from threading import Event
from typing import Any
from zipfile import ZipFile

import pytest

from marker.errors import CannotBeDone, FaultyInput, MarkerError
from marker.outputs.layouts import MOST_KEPT
from marker.web.desk import Desk
from marker.web.process import Failure
from tests.cli.commands import marker
from tests.jobfile.sheets import open_document, workbook
from tests.web.table import SEARCHED, Table


def test_a_job_is_laid_judged_and_stored(table: Table) -> None:
    assert table.ask("desk")["layout"] is None
    desk = table.laid()
    assert [piece["number"] for piece in desk["pieces"]] == list(range(1, 8))
    stored = json.loads((table.stored).read_text(encoding="utf-8"))
    shown = table.ask("layout")
    assert {key: stored[key] for key in ("format", "length_mm", "placements")} == {
        key: shown[key] for key in ("format", "length_mm", "placements")
    }
    judged = marker("judge", table.stored)
    assert judged.exit_code == 0, judged.output


def test_pictures_come_while_it_searches(table: Table) -> None:
    table.search()
    table.heard("desk")
    table.stop.set()
    table.heard("ended")
    pictures = [event["desk"] for event in table.told if event["kind"] == "desk"]
    assert all(len(each["pieces"]) == SEARCHED and each["searching"] for each in pictures)


def test_a_stored_layout_is_there_again(table: Table) -> None:
    desk = table.laid()
    again = Desk(table.job, table.outputs, lambda _: None, Event())
    assert again.answer("desk", {})["pieces"] == desk["pieces"]


def test_a_layout_of_a_job_that_has_changed_is_not_shown(table: Table) -> None:
    table.laid()
    text = table.job.read_text(encoding="utf-8")
    table.job.write_text(text.replace("cut = 3", "cut = 2"), encoding="utf-8")
    assert table.ask("desk")["layout"] is None


def test_undo_and_redo_without_end_and_pins(table: Table) -> None:
    first = table.laid()
    for number in (1, 2, 3):
        table.ask("layout pin", pieces=[table.key(number)], pinned=True)
    pinned = table.ask("desk")
    assert [piece["pinned"] for piece in pinned["pieces"]] == [True] * 3 + [False] * 4
    for _ in range(5):
        undone = table.ask("layout undo")
    assert undone == first | {"can_redo": True, "version": undone["version"]}
    for _ in range(5):
        redone = table.ask("layout redo")
    assert redone["pieces"] == pinned["pieces"]


def test_the_shortest_layout_is_never_lost(table: Table) -> None:
    shortest = table.laid()["layout"]["length_mm"]
    for _ in range(MOST_KEPT + 1):  # each is longer than the one before, and kept
        table.ask("layout move", piece=table.key(7), by=[50.0, 0.0])
        table.ask("layout keep")
    kept = table.ask("kept")["layouts"]
    assert len(kept) == MOST_KEPT
    assert kept[-1]["length_mm"] == pytest.approx(shortest, abs=1e-3)
    chosen = table.ask("layout choose", kept=kept[-1]["id"])
    assert chosen["layout"]["length_mm"] == pytest.approx(shortest, abs=1e-3)


def test_a_width_that_is_only_tried_is_shown_and_not_stored(table: Table) -> None:
    desk = table.laid()
    stored = table.stored.read_text(encoding="utf-8")
    table.told.clear()
    table.ask("layout lay", seconds=0.5, width="40 cm")
    table.heard("ended")
    tried = table.ask("desk")
    assert tried["figures"]["width_mm"] == 400.0
    assert tried["layout"]["length_mm"] > desk["layout"]["length_mm"]
    assert table.stored.read_text(encoding="utf-8") == stored
    assert table.ask("layout undo")["pieces"] == desk["pieces"]
    table.ask("layout redo")
    taken = table.ask("layout adopt", width="40 cm")
    assert (taken["tried"], taken["pieces"]) == (False, tried["pieces"])
    assert 'width = "40 cm"' in table.job.read_text(encoding="utf-8")
    assert marker("judge", table.stored).exit_code == 0
    with pytest.raises(CannotBeDone, match="no other width"):
        table.ask("layout adopt")


def test_a_change_of_the_jobs_name_is_undone_after_the_program_has_ended(table: Table) -> None:
    text = table.ask("text")["text"]
    table.ask("pattern text", text=text.replace('"choir dress"', '"concert dress"'))
    again = Desk(table.job, table.outputs, lambda _: None, Event())
    assert again.answer("job", {})["can_undo"]
    again.answer("pattern undo", {})
    assert again.answer("text", {})["text"] == text


def test_what_was_done_is_undone_after_the_program_has_ended(table: Table) -> None:
    first = table.laid()
    table.ask("layout move", piece=table.key(1), by=[300.0, 0.0])
    table.ask("layout pin", pieces=[table.key(2)], pinned=True)
    moved = table.ask("layout turn", piece=table.key(1))
    again = Desk(table.job, table.outputs, lambda _: None, Event())
    assert again.answer("desk", {})["pieces"] == moved["pieces"]
    for _ in range(3):
        undone = again.answer("layout undo", {})
    assert undone["pieces"] == first["pieces"]
    assert not undone["can_undo"]
    for _ in range(3):
        redone = again.answer("layout redo", {})
    assert redone["pieces"] == moved["pieces"]


def test_a_layout_that_another_program_stores_lies_on_the_table(table: Table) -> None:
    first = table.laid()
    table.ask("layout move", piece=table.key(1), by=[300.0, 0.0])
    moved = table.ask("layout")
    table.told.clear()
    laid = marker("lay", table.job, "--iterations", 0, "--out", table.stored.parent, "--replace")
    assert laid.exit_code == 0, laid.output
    table.heard("changed")
    assert table.ask("layout")["placements"] != moved["placements"]
    for _ in range(2):
        undone = table.ask("layout undo")
    assert undone["pieces"] == first["pieces"]


def test_a_tab_that_shows_an_older_layout_moves_nothing(table: Table) -> None:
    desk = table.laid()
    table.ask("layout turn", piece=table.key(2), version=desk["version"])
    with pytest.raises(CannotBeDone, match="another tab"):
        table.ask("layout turn", piece=table.key(2), version=desk["version"])
    told = [event for event in table.told if event["kind"] == "desk"][-1]
    table.ask("layout turn", piece=table.key(2), version=told["desk"]["version"])


def test_what_is_tried_comes_while_it_searches_and_is_no_layout(table: Table) -> None:
    table.search(width="41 cm")
    table.heard("trying")

    def known() -> tuple[Any, Any] | None:
        """What is tried, and the outlines it is of: others may be tried by now."""
        outlines = table.ask("trying")
        told = [each for each in table.told if each["kind"] == "trying"]
        return next(((each, outlines) for each in told if each["of"] == outlines["of"]), None)

    tried, outlines = table.until(known)
    assert [len(place) for place in tried["at"]] == [3] * SEARCHED
    assert all(outlines["outlines"][int(shape)] for _, _, shape in tried["at"])
    assert table.ask("desk")["layout"] is None or table.ask("layout")["placements"]
    table.stop.set()
    table.heard("ended")


def test_a_search_is_stopped_soon_and_nothing_else_is_done_beside_it(table: Table) -> None:
    table.search()
    table.heard("desk")
    for what in ("layout undo", "layout lay", "questions widths"):
        with pytest.raises(CannotBeDone, match="Stop it first"):
            table.ask(what)
    began = time.monotonic()
    table.stop.set()
    table.heard("ended")
    assert time.monotonic() - began < 60  # half a second where nothing else runs


@pytest.mark.parametrize(
    ("what", "body", "said"),
    [
        ("fly", {}, "no 'fly'"),
        ("layout", {}, "nothing is laid"),
        ("layout pin", {"pieces": ["front, 38, 1, 1"], "pinned": True}, "nothing is laid"),
        ("layout choose", {"kept": "3.json"}, "no such layout"),
        ("layout choose", {"kept": "../layout.json"}, "no such layout"),
        ("layout cloth", {"cloth": "silk"}, "cut from a cloth 'silk'"),
        ("layout lay", {"width": "wide"}, "wide"),
        ("layout lay", {"width": "1 mm"}, "1 mm wide"),
        ("findings", {"size": "99"}, "no size '99'"),
        ("pages", {"paper": "a4"}, "nothing is laid"),
    ],
)
def test_what_cannot_be_done_says_why(
    table: Table, what: str, body: dict[str, Any], said: str
) -> None:
    with pytest.raises(MarkerError, match=said):
        table.ask(what, **body)


def test_files_are_made_on_request(table: Table) -> None:
    table.laid()
    starts: dict[str, bytes] = {
        "diagram.pdf": b"%PDF", "diagram.png": b"\x89PNG", "print.pdf": b"%PDF",
        "cutting-sheet.html": b"<!", "layout.svg": b"<?xml", "layout.dxf": b"",
    }  # fmt: skip
    for kind, start in starts.items():
        made = table.ask("file", kind=kind, paper="a4")
        assert made["content"].startswith(start)
        assert made["name"].endswith(kind.rpartition(".")[2])
    with pytest.raises(CannotBeDone, match=r"no 'job\.toml'"):
        table.ask("file", kind="job.toml")
    with pytest.raises(CannotBeDone, match="no paper"):
        table.ask("pages", paper="papyrus")
    half = table.ask("file", kind="print.pdf", paper="a3", halves="yes", sizes="38")
    assert half["name"] == "print-a3-half-38.pdf"


def test_a_diagram_of_several_pages_comes_as_one_zip_of_pictures(table: Table) -> None:
    table.laid()
    table.ask("layout move", piece=table.key(7), by=[3000.0, 0.0])
    made = table.ask("file", kind="diagram.png")
    assert made["name"] == "diagram-png.zip"
    with ZipFile(BytesIO(made["content"])) as pictures:
        assert pictures.namelist() == [
            f"diagram-{k + 1}.png" for k in range(len(pictures.namelist()))
        ]
        assert pictures.read("diagram-2.png").startswith(b"\x89PNG")


def test_widths_are_compared(table: Table) -> None:
    table.ask("questions widths", widths="40cm,60cm", seconds=2)
    answer = table.heard("answer")["answer"]
    assert [each["width_mm"] for each in answer["widths"]] == [400.0, 600.0]
    assert answer["widths"][0]["buy_mm"] >= answer["widths"][1]["buy_mm"]


def test_a_fault_of_the_job_file_is_told_with_its_place(table: Table) -> None:
    table.job.write_text("name = 3\n", encoding="utf-8")
    with pytest.raises(MarkerError, match="name"):
        table.ask("desk")


def test_remedies_of_a_shortage_are_taken(table: Table) -> None:
    text = table.job.read_text(encoding="utf-8")
    text = text.replace('width = "150 cm"', 'width = "150 cm", gap = "4 mm"')
    table.job.write_text(text, encoding="utf-8")
    table.ask("questions shortage", have="17 cm", seconds=3)
    answer = table.heard("answer")["answer"]
    trial = next(each for each in answer["changes"] if each["changes"])
    edits = [edit for change in trial["changes"] for edit in answer["edits"][change["edit"]]]
    before = table.job.read_text(encoding="utf-8")
    table.ask("pattern remedy", edits=edits)
    assert table.job.read_text(encoding="utf-8") != before
    table.ask("pattern undo")
    assert table.job.read_text(encoding="utf-8") == before


def test_spreads_are_compared(table: Table) -> None:
    table.ask("questions spreads", seconds=2)
    spreads = table.heard("answer")["answer"]["spreads"]
    assert {"open", "folded lengthwise"} <= {each["spread"] for each in spreads}
    assert any("length_mm" in each for each in spreads)


def test_an_order_is_read_from_a_file(table: Table, tmp_path: Path) -> None:
    path = tmp_path / "order.xlsx"
    path.write_bytes(workbook({"March": [["colour", 38], ["red", 3], ["blue", 2]]}))
    read = table.ask("order", path=str(path), sheet="")
    assert read == {
        "colours": [
            {"colour": "red", "counts": {"38": 3}},
            {"colour": "blue", "counts": {"38": 2}},
        ]
    }


@pytest.mark.parametrize(
    ("sheet", "place", "said"),
    [
        ("", "order.ods", "2 sheets have contents: 'March', 'April'. Write the name of one under"),
        ("Apri", "order.ods", "there is no sheet 'Apri'. Did you mean 'April'"),
        ("March", "order.ods: sheet 'March', cell B2 (38)", "'-1' is no number of garments"),
        ("April", "order.ods: sheet 'April', cell B1 (40)", "the pattern has no size '40'"),
    ],
)
def test_a_faulty_order_is_told_with_its_place(
    sheet: str, place: str, said: str, table: Table, tmp_path: Path
) -> None:
    path = tmp_path / "order.ods"
    march, april = [["colour", 38], ["red", -1]], [["colour", 40], ["red", 1]]
    path.write_bytes(open_document({"March": march, "April": april}))
    with pytest.raises(FaultyInput) as refused:
        table.ask("order", path=str(path), sheet=sheet)
    failure = Failure.of(refused.value)
    assert failure.faults[0]["place"] == place
    assert failure.message.startswith(said)


def test_an_order_without_a_limit_of_plies_has_none(table: Table) -> None:
    """As `marker order` without --max-plies: seven of a size, one a marker, are one lay."""
    table.ask("questions order", demand=["38=7"], max_garments="1", max_plies="", seconds=2)
    lays = table.heard("answer")["answer"]["cloths"][0]["lays"]
    assert [lay["plies"] for lay in lays] == [7]


@pytest.mark.parametrize("plies", ["0", "-3", "2.5", "1e3", "100001"])
def test_an_order_with_a_wrong_limit_is_refused(plies: str, table: Table) -> None:
    table.ask("questions order", demand=["38=7"], max_garments="1", max_plies=plies, seconds=2)
    failed = table.heard("failed")["message"]
    assert f"plies in a lay: '{plies}' is no whole number from 1 to 100000" in failed


def test_a_job_in_inches_is_shown_in_inches(table: Table) -> None:
    text = table.job.read_text(encoding="utf-8").replace(
        'units = "mm"', 'units = "mm"\nshow = "imperial"'
    )
    table.job.write_text(text, encoding="utf-8")
    table.search()
    picture = table.heard("desk")["desk"]
    table.stop.set()
    table.heard("ended")
    desk = table.ask("desk")
    assert table.ask("job")["units"] == desk["units"] == "imperial"
    assert desk["figures"]["buy_text"].endswith("yd")
    assert picture["figures"]["buy_text"].endswith("yd")


def test_what_to_buy_of_every_cloth_as_it_lies(table: Table) -> None:
    (cloth,) = table.ask("bought")["cloths"]
    assert cloth["figures"] is None
    figures = table.laid()["figures"]
    (cloth,) = table.ask("bought")["cloths"]
    assert cloth["figures"]["buy_text"] == figures["buy_text"]


def test_a_cloth_that_is_not_laid_yet_is_told(table: Table) -> None:
    text = table.job.read_text(encoding="utf-8").replace(
        "cloth.jersey", 'cloth.lining.width = "140 cm"\ncloth.jersey'
    )
    text = text.replace('name = "front"', 'name = "front"\ncloth = "lining"')
    text = text.replace('name = "gusset"', 'name = "gusset"\ncloth = "jersey"')
    table.job.write_text(text, encoding="utf-8")
    desk = table.laid()
    other = ({"lining", "jersey"} - {desk["cloth"]}).pop()
    assert desk["not_laid"] == [other]
    assert table.ask("layout cloth", cloth=other)["not_laid"] == []


def test_bands_are_drawn(tmp_path: Path) -> None:
    dress = Path(__file__).parents[2] / "pieces" / "choir-dress" / "job.toml"
    desk = Desk(dress, tmp_path, lambda _: None, Event())
    (page, *_) = desk.answer("bands", {"size": "38"})["pages"]
    assert page.lstrip().startswith(("<?xml", "<svg"))
    assert "neck binding" in page


def test_only_cloths_that_something_is_cut_from_are_laid(table: Table) -> None:
    table.ask("pattern new-cloth", name="lining", width="140 cm", nap="either way")
    assert table.ask("desk")["cloths"] == ["jersey"]
    assert [each["in_use"] for each in table.ask("job")["cloths"]] == [True, False]
    for piece in ("front", "gusset"):
        table.ask("pattern piece", piece=piece, key="cloth", value="lining")
    desk = table.ask("desk")  # the main cloth stays in the job
    assert (desk["cloths"], desk["cloth"]) == (["lining"], "lining")
    with pytest.raises(CannotBeDone, match="nothing is cut from a cloth 'jersey'"):
        table.ask("layout cloth", cloth="jersey")
    table.ask("pattern no-cloth", cloth="jersey")
    with pytest.raises(CannotBeDone, match="a job needs a cloth"):
        table.ask("pattern no-cloth", cloth="lining")


def test_a_folder_that_takes_nothing_is_told_at_the_end_and_the_layout_is_shown(
    tmp_path: Path,
) -> None:
    table = Table(tmp_path)
    table.outputs.write_text("a file where the folder should be", encoding="utf-8")
    table.search()
    table.heard("desk")
    table.stop.set()
    failed = table.until(lambda: next((e for e in table.told if e["kind"] == "failed"), None))
    assert "this is a file where a folder is needed" in failed["message"]
    assert len(table.ask("desk")["pieces"]) == SEARCHED
