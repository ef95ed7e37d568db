"""A job made, drawn and laid on the page, in a real browser: all that a person does there."""

from __future__ import annotations

import tomllib
from functools import partial
from typing import Any

import numpy as np
import pytest

from tests.cli.commands import marker
from tests.web.browsing import Server, Tab, photo

DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">'
    '<rect id="panel" x="10" y="10" width="200" height="120"/></svg>'
)


def text(server: Server, folder: str) -> str:
    return (server.folder / folder / "job.toml").read_text(encoding="utf-8")


def said_of(server: Server, folder: str) -> dict[str, Any]:
    return tomllib.loads(text(server, folder))


def test_1_a_job_is_opened_or_made(at: Tab) -> None:
    page = at.page
    page.wait_for_selector('#main[data-part="shelf"]')
    assert page.get_by_role("link", name="choir dress").count() == 1
    page.get_by_label("Name", exact=True).fill("long skirt")
    page.get_by_role("radio", name="half circle skirt").check()
    page.get_by_label("waist", exact=True).fill("74 cm")
    page.get_by_role("button", name="Draft it").click()
    page.wait_for_selector('#main[data-part="pattern"]')
    assert page.title().startswith("long skirt")
    page.get_by_role("link", name="marker", exact=True).click()
    page.get_by_role("heading", name="A new job").wait_for()
    page.get_by_label("Name", exact=True).fill("banner")
    page.get_by_label("Drawings").set_input_files(
        [{"name": "panel.svg", "mimeType": "image/svg+xml", "buffer": DRAWING.encode()}]
    )
    page.get_by_label("Width of the cloth").fill("150 cm")
    page.get_by_role("button", name="Read them").click()
    page.wait_for_selector('#main[data-part="pattern"]')
    assert page.get_by_role("group", name="panel", exact=True).is_visible()
    assert marker("check", at.server.folder / "banner" / "job.toml").exit_code == 0
    page.get_by_role("link", name="marker", exact=True).click()
    page.get_by_role("heading", name="A new job").wait_for()
    page.get_by_label("Name", exact=True).fill("bag")
    page.get_by_label("Name of the piece").fill("bag front")
    page.get_by_label("Length", exact=True).fill("40 cm")
    page.get_by_label("Width", exact=True).fill("36 cm")
    page.get_by_role("button", name="Begin with it").click()
    page.locator("[aria-invalid]").wait_for()  # the width of the cloth is asked for
    page.get_by_label("Its width").fill("150 cm")
    page.get_by_label("Its width").press("Tab")
    page.get_by_role("button", name="Begin with it").click()
    page.wait_for_selector('#main[data-part="pattern"]')
    page.get_by_role("group", name="bag front", exact=True).wait_for()
    at.forgive("422")


def test_1_photos_are_dropped_and_their_outlines_checked(at: Tab) -> None:
    page = at.page
    page.get_by_label("Name", exact=True).fill("paper pattern")
    page.get_by_label("Drawings").set_input_files(
        [{"name": "table.jpg", "mimeType": "image/jpeg", "buffer": photo()}]
    )
    page.get_by_label("In the photos lies").select_option("a4")
    page.get_by_label("the grain runs").select_option("said later, in the job file")
    page.get_by_label("Width of the cloth").fill("150 cm")
    page.get_by_role("button", name="Read them").click()
    picture = page.get_by_alt_text("Outlines found in")
    picture.wait_for()
    assert picture.evaluate("(each) => each.decode().then(() => each.naturalWidth)") > 100
    page.get_by_role("link", name="go on to the pattern").click()
    page.get_by_role("link", name="Open the job file").click()  # no arrow was drawn: it asks
    area = page.get_by_label("Job file")
    area.fill(area.input_value().replace('grain = "?"', "grain = 90"))
    page.get_by_role("button", name="Save").click()
    at.said("Written to the job file")
    at.forgive("422")
    job = page.url.partition("#/")[2].partition("/")[0]
    (piece,) = at.server.get(f"/api/jobs/{job}/pattern")["pieces"]
    assert sorted(np.ptp(piece["outline_mm"], axis=0)) == pytest.approx([200, 300], abs=1.0)
    assert at.server.job("paper pattern") == job


def test_2_the_pattern_is_worked_on(at: Tab) -> None:
    before = text(at.server, "dress")
    page = at.open(at.server.job("choir dress"), "pattern")
    undo, redo = (page.get_by_role("button", name=name) for name in ("Undo", "Redo"))
    assert [undo.is_disabled(), redo.is_disabled()] == [True, True]  # nothing was done yet
    edge = page.locator('[data-edge="bodice front.side"]')
    edge.locator(".edge-hit").click(force=True)
    page.get_by_label("Allowance", exact=True).fill("15 mm")
    page.get_by_role("button", name="Set the allowance").click()
    at.said("Written to the job file")
    assert said_of(at.server, "dress")["piece"][0]["allowances"]["side"] == "15 mm"
    assert [undo.is_disabled(), redo.is_disabled()] == [False, True]
    assert text(at.server, "dress").count("#") == before.count("#")  # the comments stay
    # two edges, by keyboard: both lengths, and the seam
    for name in ("skirt front.hem", "skirt back.hem"):
        page.locator(f'[data-edge="{name}"]').focus()
        page.keyboard.press("Enter")
    assert page.get_by_text("They are equally long").is_visible()
    page.get_by_label("Name of the seam").fill("round the hem")
    page.get_by_role("button", name="Sew them together").click()
    page.get_by_role("cell", name="round the hem", exact=True).wait_for()
    assert said_of(at.server, "dress")["seam"][-1]["sides"] == ["skirt front.hem", "skirt back.hem"]
    undo.click()
    undo.press("Enter")
    at.until(lambda: text(at.server, "dress") == before)
    page.locator("button:focus", has_text="Redo").wait_for()  # where the focus went from Undo
    assert [undo.is_disabled(), redo.is_disabled()] == [True, False]
    for part in ("Cloth", "Job file"):  # they are changes of the same file
        page.get_by_role("link", name=part, exact=True).click()
        redo.wait_for()
        assert [undo.is_disabled(), redo.is_disabled()] == [True, False]


def test_2_a_piece_is_made_longer_where_it_is_clicked(at: Tab) -> None:
    before = text(at.server, "dress")
    page = at.open(at.server.job("choir dress"), "pattern")
    page.locator('[data-edge="skirt front.side"] .edge-hit').click(force=True)
    page.get_by_text("Longer, shorter, or cut here").click()
    page.get_by_label("On side, at").fill("40 cm")
    page.get_by_label("by", exact=True).fill("4 cm")
    page.get_by_text("Seam skirt side meets no more then").wait_for()
    assert page.locator(".as-was").count() == 1
    page.get_by_label("There").select_option("split")
    page.get_by_text("skirt front lower").wait_for()
    assert page.locator(".as-was").count() == 2
    assert text(at.server, "dress") == before  # shown, and not yet written
    page.get_by_label("There").select_option("lengthen")
    page.get_by_role("button", name="Write this change").click()
    at.said("Written to the job file")
    (change,) = said_of(at.server, "dress")["change"]
    wanted = {"piece": "skirt front", "line": ["side at 40 cm"], "lengthen": "4 cm"}
    assert change == wanted
    page.get_by_role("button", name="Take away: skirt front, 4 cm longer, at side at 40 cm").click()
    at.until(lambda: "[[change]]" not in text(at.server, "dress"))
    for _ in range(2):
        page.get_by_role("button", name="Undo").click()
    at.until(lambda: text(at.server, "dress") == before)


def stands(at: Tab, piece: int, there: list[float]) -> bool:
    """Whether the second corner of a piece is there, mm."""
    points = said_of(at.server, "small")["piece"][piece]["points"]
    return bool(points[1] == pytest.approx(there))


def test_2_an_outline_is_corrected(at: Tab) -> None:
    before = text(at.server, "small")
    page = at.open(at.server.job("gussets"), "pattern")
    corner = page.locator('[data-corner="gusset 2"]')
    box = corner.locator(".corner-hit").bounding_box()
    middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] - 40, middle[1], steps=4)
    outline = page.locator(".reshaping .drawn").get_attribute("d")  # follows the pointer
    page.mouse.up()
    at.said("Written to the job file")
    x, y = said_of(at.server, "small")["piece"][1]["points"][1]
    assert (100 < x < 255, y) == (True, 0)
    assert outline.startswith("M0 0L") or f"L{x:g} 0" in outline
    assert page.get_by_text("Stretch chosen").count() == 0  # a drag chooses nothing
    # by keyboard, where it stays in hand
    for key, there in ("ArrowUp", [x, 1]), ("Shift+ArrowRight", [x + 10, 1]):
        page.wait_for_function("() => document.activeElement.dataset.corner === 'gusset 2'")
        page.keyboard.press(key)
        at.until(partial(stands, at, 1, there))
    page.get_by_role("button", name="Take out front").click()
    page.locator('[data-corner^="front"]').first.wait_for(state="detached")
    assert stands(at, 0, [x + 10, 1])
    steps = 0  # presses of arrow keys are one where they follow soon
    while (now := text(at.server, "small")) != before:
        page.get_by_role("button", name="Undo").click()
        at.until(partial(differs, at, now))
        steps += 1
    assert 3 <= steps <= 4


def test_2_a_lining_a_pocket_and_drawn_pieces_are_added(at: Tab) -> None:
    before = text(at.server, "small")
    page = at.open(at.server.job("gussets"), "cloth")
    page.get_by_label("Name", exact=True).fill("lining")
    page.get_by_label("Width", exact=True).last.fill("no")
    page.get_by_role("button", name="Add this cloth").click()
    assert page.locator("[aria-invalid]").input_value() == "no"
    page.get_by_label("Width", exact=True).last.fill("140 cm")
    page.get_by_label("Width", exact=True).last.press("Enter")
    at.said("Added: lining")
    page.get_by_text("Nothing is cut from it yet").wait_for()
    page.get_by_role("link", name="Pattern", exact=True).click()
    page.get_by_text("Add a piece").click()
    added = page.locator(".adding")
    for label, typed in (("Name", "gusset"), ("Length", "20 cm"), ("Width", "18 cm")):
        added.get_by_label(label, exact=True).locator("visible=true").fill(typed)
    added.get_by_label("On the fold").check()
    added.get_by_text("half of it, its red side on the fold").wait_for()
    added.get_by_role("button", name="Add it").locator("visible=true").click()
    added.get_by_text("2 pieces or strips are called 'gusset'").wait_for()
    page.wait_for_function("() => document.activeElement.value === 'gusset'")
    page.keyboard.type("pocket")
    page.keyboard.press("Enter")
    at.said("Added: pocket")
    added.get_by_label("A lining or interfacing").check()
    added.get_by_label("Of the piece").select_option("pocket")
    added.get_by_role("button", name="Add it").locator("visible=true").click()
    at.said("Added: pocket lining")
    added.get_by_label("From a drawing").check()
    named = DRAWING.replace('"panel"', '"pocket"')
    added.get_by_label("Drawings").set_input_files(
        [{"name": "panel.svg", "mimeType": "image/svg+xml", "buffer": named.encode()}]
    )
    added.get_by_role("button", name="Read them").click()
    added.get_by_text("The job has a “pocket” already").wait_for()
    added.get_by_role("button", name="Add what is ticked").click()
    at.said("Added: pocket 2")
    page.get_by_role("group", name="pocket 2", exact=True).wait_for()
    page.get_by_role("button", name="Take out pocket", exact=True).click()
    at.said("'pocket' stays: it is needed for the derived piece 'pocket lining'")
    said = said_of(at.server, "small")
    assert [each["name"] for each in said["piece"]] == ["front", "gusset", "pocket", "pocket 2"]
    assert said["derived"][0]["cloth"] == "lining"
    at.forgive("422")
    at.forgive("409")
    while (now := text(at.server, "small")) != before:
        page.get_by_role("button", name="Undo").click()
        at.until(partial(differs, at, now))


def differs(at: Tab, before: str) -> bool:
    """Whether the job file of the gussets says something else by now."""
    return text(at.server, "small") != before


def jersey(at: Tab) -> dict[str, Any]:
    cloth: dict[str, Any] = said_of(at.server, "dress")["cloth"]["jersey"]
    return cloth


def test_3_the_cloth_is_described(at: Tab) -> None:
    page = at.open(at.server.job("choir dress"), "cloth")
    page.get_by_label("Repeat along").fill("12 cm")
    page.get_by_label("Repeat along").press("Enter")
    at.said("Written to the job file")
    page.get_by_label("Price").fill("12.50")
    page.get_by_label("Price").press("Enter")
    at.said("Written to the job file")  # by then the cloth is drawn anew
    assert jersey(at)["price"]["amount"] == 12.5
    assert jersey(at)["repeat"] == {"along": "12 cm"}
    box = page.locator("svg.flaws").bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2 + 30, box["y"] + box["height"] / 2 + 20)
    page.mouse.up()
    page.get_by_role("button", name="Take flaw 1 away").wait_for()
    assert jersey(at)["flaw"][0]["name"] == "flaw 1"
    page.get_by_role("button", name="Take flaw 1 away").click()
    page.get_by_role("button", name="Take flaw 1 away").wait_for(state="detached")
    page.get_by_label("Repeat along").fill("")
    page.get_by_label("Repeat along").press("Enter")
    at.until(lambda: "repeat" not in jersey(at))


def placements(server: Server, job: str) -> dict[tuple[str, int], tuple[float, float]]:
    layout = server.get(f"/api/jobs/{job}/layout")
    return {
        (each["piece"], each["copy"]): (each["x_mm"], each["y_mm"]) for each in layout["placements"]
    }


def lies(at: Tab, job: str, there: dict[tuple[str, int], tuple[float, float]]) -> bool:
    return placements(at.server, job) == there


def test_4_it_is_laid_and_pieces_are_moved(at: Tab) -> None:
    job = at.server.job("gussets")
    page = at.open(job, "layout")
    at.laid()
    assert page.locator('[data-view="layout"] [data-piece]').count() == 7
    first = placements(at.server, job)
    # with the mouse, as far as there is room behind the others
    piece = page.locator('[data-piece="1"]')
    box = piece.bounding_box()
    middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] + 15, middle[1] + 3, steps=3)
    page.mouse.move(middle[0] + 60, middle[1], steps=3)
    page.mouse.up()
    at.said("from the start")
    dragged = placements(at.server, job)
    assert sum(dragged[key] != first[key] for key in first) == 1
    # by keyboard, and pinned
    page.locator('[data-piece="7"]').focus()
    page.keyboard.press("ArrowRight")
    at.said("from the start")
    pushed = placements(at.server, job)
    (key,) = [key for key in dragged if pushed[key] != dragged[key]]
    assert pushed[key][0] > dragged[key][0]
    page.keyboard.press("p")
    page.locator(".piece.pinned").wait_for()
    at.laid()
    assert placements(at.server, job)[key] == pytest.approx(pushed[key], abs=1e-3)
    # undone one by one, down to the first
    for there in (pushed, pushed, dragged, first):  # the rest laid, pinned, pushed, dragged
        page.get_by_role("button", name="Undo").click()
        at.until(partial(lies, at, job, there))
    page.get_by_role("button", name="Redo").click()
    at.until(partial(lies, at, job, dragged))
    page.get_by_text("Kept layouts").click()
    page.get_by_role("button", name="Show the layout of").first.click()
    stored = at.server.folder / "outputs" / "gussets" / "layout.json"
    assert marker("judge", stored).exit_code == 0


def test_4_pieces_go_from_one_remnant_to_another(at: Tab) -> None:
    job = at.server.job("from remnants")
    page = at.open(job, "layout")
    piece = page.locator('.piece[data-key^="gusset"]').first
    key = piece.get_attribute("data-key")
    before = on_remnant(at, job, key)
    other = {"skirt": "end of roll", "end of roll": "skirt"}[before]
    # dropped in the middle of the other one
    page.mouse.move(*middle(piece.locator("text")))  # where its name is, it surely is
    page.mouse.down()
    page.mouse.move(*middle(page.locator(f'[data-remnant="{other}"]')), steps=4)
    page.mouse.up()
    at.said(f"on “{other}”")
    assert on_remnant(at, job, key) == other
    # and back by the keyboard
    page.get_by_role("button", name=f"To “{before}”").focus()
    page.keyboard.press("Enter")
    at.said(f"on “{before}”")
    page.get_by_role("button", name="Undo").click()
    at.until(lambda: on_remnant(at, job, key) == other)
    files = (at.server.folder / "outputs" / "from-remnants").glob("*layout.json")
    assert all(marker("judge", path).exit_code == 0 for path in files)


def middle(element: Any) -> tuple[float, float]:
    box = element.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def on_remnant(at: Tab, job: str, key: str) -> str:
    """The remnant that a piece lies on."""
    pieces = at.server.get(f"/api/jobs/{job}/desk")["pieces"]
    return str(next(piece["on"] for piece in pieces if piece["key"] == key))
