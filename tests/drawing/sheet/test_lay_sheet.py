"""The file of a lay: its sheet, the diagram and the bundle tickets, read again with pypdf."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from pypdf import PageObject

from marker.canvas.page import Page
from marker.cloth.fabric import Cloth, Nap
from marker.cloth.spread import Tube
from marker.drawing.scene.lay_scene import lay_scene
from marker.drawing.sheet.lay_pages import ACROSS, lay_pdf
from marker.drawing.sheet.lay_sheet import HEIGHT, LaySheet, build_lay_sheet
from marker.reports.lays import shared_markers
from marker.units import Show, System, show_lengths
from marker.words import BLADES, CORDS
from tests.drawing.pdf_pages import drawn_on, pages_of, paper_of
from tests.reports.lay_plans import CLOTH, hand_made

DIAGRAM = Page(297.0, 210.0)


def sheet(
    number: int = 1, cloth: Cloth = CLOTH, blade_mm: float | None = 100.0, ties: bool = False
) -> LaySheet:
    plan = hand_made(cloth)
    shared = next(
        each for each in shared_markers(plan) if number in {lay.number for lay in each.lays}
    )
    scene = lay_scene(shared, len(plan.lays))
    return build_lay_sheet(plan, shared, plan.lays[number - 1], scene, blade_mm, ties=ties)


@cache
def pages(number: int = 1) -> list[PageObject]:
    return pages_of(lay_pdf(sheet(number), [DIAGRAM]))


def said(found: list[PageObject]) -> str:
    return " ".join(" ".join(page.extract_text() for page in found).split())


def facts(of: LaySheet) -> dict[str, tuple[str, str]]:
    return {fact.label: (fact.value, fact.detail) for fact in of.facts}


def test_all_that_a_cutting_room_asks_for_is_on_the_sheet() -> None:
    text = said(pages())
    for words in (
        *("concert dresses", "lay 1 of 3", "marker A", "jersey"),
        *("In the marker 1 × S, 1 × M.", "Plies by colour 3 red, 2 blue."),
        *("marker length", "70 cm", "spread every ply", "72 cm", "ends of 10 mm included"),
        *("usable width", "30 cm", "open", "face up", "either way", "height of the lay", "2.5 mm"),
        *("the blade reaches 10 cm", "marker efficiency", "cloth a garment", "36 cm"),
        *("36.00 EUR", "3.60 EUR a garment", "A ply may run either way, its right side up."),
        *("roll 1, lapped by roll 2 from 40 cm to 42 cm", "no cloth on the rolls"),
        *(
            "40 cm to 42 cm, a lap of 20 mm",
            HEIGHT,
            BLADES,
        ),
    ):
        assert words in text, words


def test_of_a_tube_the_flat_width_is_measured() -> None:
    assert "needs 30 cm between the selvages" in sheet().steps[0]
    tube = replace(CLOTH, tube=Tube(), width_mm=150.0, selvage_mm=0.0)
    assert "needs 15 cm as the tube lies flat" in sheet(cloth=tube).steps[0]


def test_pieces_are_counted() -> None:
    counts = {(row.piece, row.size): (row.in_marker, row.cut) for row in sheet().counts}
    assert counts == {
        ("band", "S"): (1, 5),
        ("cuff", "S"): (2, 10),
        ("band", "M"): (1, 5),
        ("cuff", "M"): (2, 10),
    }


def test_a_lay_that_shares_a_marker_has_its_own_sheet() -> None:
    text = said(pages(2))
    assert "lay 2 of 3 · marker A" in text
    assert "lays 1 and 2 of 3" in lay_scene(shared_markers(hand_made())[0], 3).subtitle
    assert [(str(row.run), row.source) for row in sheet(2).plies] == [("1", "roll 5")]


def test_what_nobody_said_is_left_to_be_filled_in() -> None:
    unknown = sheet(cloth=replace(CLOTH, thickness_mm=None, price=None, rolls={}))
    assert facts(unknown)["height of the lay"][0].strip("_") == ""
    assert "cost of cloth" not in facts(unknown)
    assert [row.source for row in unknown.plies] == ["", ""]
    assert "shade ___" in said(pages_of(lay_pdf(unknown, [DIAGRAM])))


def test_a_lay_too_high_for_the_blade_is_told() -> None:
    assert facts(sheet(blade_mm=2.0))["TOO HIGH"] == (
        "2.5 mm",
        "the blade reaches 2 mm: 4 plies at most",
    )


@pytest.mark.parametrize(
    ("nap", "words"), [(Nap.ONE_WAY, "All plies run the same way"), (Nap.EITHER_WAY, "either way")]
)
def test_which_way_plies_run(nap: Nap, words: str) -> None:
    assert any(words in step for step in sheet(cloth=replace(CLOTH, nap=nap)).steps)


def test_the_sheet_leads_with_the_units_of_the_job() -> None:
    with show_lengths(Show(System.IMPERIAL, both=False)):
        inches = sheet()
        text = said(pages_of(lay_pdf(inches, [DIAGRAM])))
    assert facts(inches)["spread every ply"][0] == "28 3/8 in"
    assert " cm" not in text.replace("10 cm, printed", "")


def test_tickets_are_cut_apart_along_dashes() -> None:
    """8 tickets, 3 side by side: 4 lines up and 4 across; nothing else is dashed."""
    first, *_, diagram, page = pages()
    assert paper_of(diagram) == pytest.approx((297.0, 210.0), abs=0.1)
    dashed = [each for each in drawn_on(page) if each.dashed]
    assert len(dashed) == (ACROSS + 1) + (3 + 1)
    text = said([page])
    assert text.count("garment 1") == text.count("garment 2") == 4
    for words in ("ply 2", "red · shade: roll 1", "blue · shade: roll 4", "1 band, 2 cuff"):
        assert words in text
    assert not any(each.dashed for each in drawn_on(first))


def test_as_many_pages_of_tickets_as_are_needed() -> None:
    none = replace(sheet(), tickets=())
    many = replace(none, tickets=sheet().tickets * 7)  # 56, of which 24 have room on a page
    before = len(pages_of(lay_pdf(none, [])))
    assert len(pages_of(lay_pdf(many, []))) - before == 3


def test_no_tickets_is_said() -> None:
    text = said(pages_of(lay_pdf(replace(sheet(), tickets=(), untied="9999 bundles"), [])))
    assert "9999 bundles" in text


def test_cords_are_cautioned_of_where_a_strip_finishes_nothing() -> None:
    assert CORDS not in said(pages())
    assert CORDS in said(pages_of(lay_pdf(sheet(ties=True), [])))


def test_what_is_cut_besides_is_told() -> None:
    """Of a marker whose lower ply gives a second cuff."""
    plan = hand_made()
    laid, shared = plan.lays[2], shared_markers(plan)[1]
    layout = laid.marker.layout
    more = replace(layout, spares=layout.placements[1:2])
    laid = replace(laid, marker=replace(laid.marker, layout=more))
    scene = lay_scene(shared, len(plan.lays))
    found = build_lay_sheet(plan, shared, laid, scene, None, ties=False)
    assert found.spares == "Cut besides through the lower ply, and not wanted: 1 cuff."
    assert sheet().spares == ""


def test_one_ply_is_neither_numbered_nor_counted() -> None:
    assert any("Number the plies" in step for step in sheet(1).steps)
    assert not any("the plies" in step for step in sheet(3).steps)


def test_the_picture_and_the_laps_are_to_scale() -> None:
    """Read with pypdf: every piece, and from where to where both cloths of the splice lie."""
    own, plan = sheet(), hand_made()
    share = own.picture.share
    runs = [run for drawn in drawn_on(pages()[0]) for run in drawn.runs]
    size = np.array([720.0, 300.0]) * share  # of a ply, ends included
    (cloth,) = (run for run in runs if np.abs(np.ptp(run, axis=0) - size).max() <= 0.1)
    corner = cloth.min(axis=0)
    start = corner + np.array([10.0, 0.0]) * share
    for place in plan.lays[0].marker.layout.placements:
        low = start + place.outline_mm.min(axis=0) * share
        high = start + place.outline_mm.max(axis=0) * share
        off = [
            max(np.abs(run.min(axis=0) - low).max(), np.abs(run.max(axis=0) - high).max())
            for run in runs
        ]
        assert min(off) <= 0.1, place.piece
    ends = corner[0] + np.array([400.0, 420.0]) * share
    laps = [run for run in runs if len(run) == 4 and np.abs(run[[0, -1], 0] - ends).max() <= 0.1]
    assert len(laps) == 1


def test_tickets_are_of_one_size() -> None:
    """The lines to cut along, read with pypdf, lie evenly apart across the page."""
    *_, page = pages()
    lines = [drawn.runs[0] for drawn in drawn_on(page) if drawn.dashed]
    across = sorted(line[0][0] for line in lines if np.ptp(line[:, 0]) < 0.1)
    assert np.diff(across) == pytest.approx([(210 - 2 * 9) / 3] * 3, abs=0.1)


def test_signatures_never_stand_alone_on_a_page() -> None:
    """However many plies there are: they stay with the pieces to count."""
    one = sheet()
    for times in range(1, 60, 2):
        found = pages_of(lay_pdf(replace(one, plies=one.plies * times, tickets=()), [DIAGRAM]))
        signed = [text for page in found if "counted by" in (text := page.extract_text())]
        assert ["Pieces to count" in text for text in signed] == [True], times
