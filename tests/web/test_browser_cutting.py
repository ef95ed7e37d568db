"""A laid job bought, ordered, printed and cut by on the page, in a real browser."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.web.browsing import WAIT_SECONDS, Server, Tab, served, tab


def test_5_what_to_buy_is_compared(at: Tab) -> None:
    page = at.open(at.server.job("gussets"), "buy")
    page.get_by_label("Widths").fill("wide")
    page.get_by_role("button", name="Compare widths").click()
    page.get_by_text("'wide' is not a length").first.wait_for()
    asked = page.locator("section", has=page.get_by_role("button", name="Compare widths"))
    assert page.locator(".fault").count() == asked.locator(".fault").count() == 1
    page.get_by_label("Widths").fill("40cm,60cm")
    page.get_by_label("Seconds in all").first.fill("2")
    page.get_by_role("button", name="Compare widths").click()
    at.said("Done")
    assert page.locator("tr.best").count() == 1
    assert page.get_by_role("cell", name="40 cm").first.is_visible()
    assert "[object" not in page.locator("main").inner_text()  # nothing has a price


def test_6_an_order_is_planned(at: Tab) -> None:
    page = at.open(at.server.job("gussets"), "order")
    page.get_by_label("Size 38", exact=True).fill("-2")
    page.get_by_role("button", name="Plan", exact=True).click()
    at.said("'-2' is no number of garments")  # it is not left out in silence
    page.get_by_label("Size 38", exact=True).fill("1")
    at.open(at.server.job("gussets"), "cut")
    page = at.open(at.server.job("gussets"), "order")
    assert page.get_by_label("Size 38", exact=True).input_value() == "1"
    page.get_by_label("Size 38").fill("3")
    page.get_by_label("Plies in a lay").fill("3")
    page.get_by_label("Seconds in all").fill("3")
    page.get_by_role("button", name="Plan").click()
    at.said("Done")
    assert page.get_by_text("Lay 1", exact=True).is_visible()
    assert page.locator(".shelf svg").count() >= 1
    page.get_by_text("The whole plan in words").click()
    assert page.get_by_text("3 garments, as ordered").is_visible()
    with page.expect_download() as saved:
        page.get_by_role("link", name="Sheet of lay 1").click()
    assert Path(saved.value.path()).read_bytes().startswith(b"%PDF")
    assert (at.server.folder / "outputs" / "gussets-order" / "plan.csv").is_file()


def test_6_an_order_comes_from_a_file(at: Tab, tmp_path: Path) -> None:
    page = at.open(at.server.job("gussets"), "order")
    order = tmp_path / "order.csv"
    order.write_text("colour,38\nred,3\nblue,2,5\n")
    page.get_by_label("File of the order").set_input_files(order)
    at.said("no size is named")
    assert page.get_by_text("order.csv:3: column C").is_visible()
    assert page.get_by_label("Colour 2", exact=True).count() == 0  # the table stays as it was
    at.forgive("422")
    order.write_text("colour,38\nred,3\nblue,2\n")
    with page.expect_file_chooser() as asked:  # the same file, corrected
        page.get_by_label("File of the order").click()
    asked.value.set_files(order)
    at.said("order.csv is read")
    assert page.get_by_text("5 garments in 2 colours").is_visible()
    assert page.get_by_label("Colour 2", exact=True).input_value() == "blue"
    assert page.get_by_label("Size 38, colour 1").input_value() == "3"
    at.open(at.server.job("gussets"), "cut")
    page = at.open(at.server.job("gussets"), "order")
    assert page.get_by_label("Size 38, colour 2").input_value() == "2"


def test_7_it_is_printed_and_downloaded(at: Tab) -> None:
    job = at.server.job("gussets")
    page = at.open(job, "layout")
    if page.locator("[data-piece]").count() == 0:
        at.laid()
    with page.expect_download() as saved:
        page.get_by_role("button", name="Download").click()
    assert Path(saved.value.path()).read_bytes().startswith(b"%PDF")
    page.get_by_role("button", name="Print").click()
    page.wait_for_selector(".page-map")
    page.get_by_label("Paper").select_option("a3")
    with page.expect_download() as saved:
        page.get_by_role("link", name="Download the pages").click()
    assert saved.value.suggested_filename == "print-a3.pdf"
    with page.expect_download() as saved:
        page.get_by_role("link", name="Cutting diagram, as pictures").click()
    assert Path(saved.value.path()).read_bytes().startswith(b"\x89PNG")
    page.get_by_label("Halves, to place on the fold").check()
    page.get_by_role("link", name="Download the pages").and_(
        page.locator('[href*="halves=yes"]')
    ).wait_for()
    assert page.locator(".printed-piece").count() == 2  # each piece once
    with page.expect_download() as saved:
        page.get_by_role("link", name="Layout, DXF").click()
    assert b"SECTION" in Path(saved.value.path()).read_bytes()


def test_8_it_is_ticked_off_at_the_table(chrome: Any, server: Server) -> None:
    job = server.job("gussets")
    with tab(chrome, server) as at:
        at.open(job, "layout")
        if at.page.locator("[data-piece]").count() == 0:
            at.laid()
    with tab(chrome, server, width=360, has_touch=True) as phone:
        page = phone.open(job, "cut")
        page.get_by_role("checkbox").first.check()
        assert page.get_by_text("1 of 7 cut").is_visible()
        page.reload()
        page.wait_for_selector('#main[data-part="cut"]')
        assert page.get_by_role("checkbox").first.is_checked()
        told = json.loads(page.evaluate("() => JSON.stringify(Object.values(localStorage))"))
        assert told


def test_8_a_phone_comes_in_by_its_link_alone(chrome: Any, server: Server) -> None:
    with served(server.folder, "--lan") as lan:
        assert lan.process.stderr is not None
        told = lan.process.stderr.readline()
        assert "For a phone in your network: http://" in told
        picture = [lan.process.stderr.readline() for _ in range(10)]
        assert any("█" in line or "▀" in line for line in picture)  # the QR code
        link = told.rpartition(" ")[2].strip()
        assert not link.startswith("http://127.")
        phone = chrome.new_context(viewport={"width": 360, "height": 700}, has_touch=True)
        phone.set_default_timeout(WAIT_SECONDS * 1000)
        page = phone.new_page()
        assert page.goto(link.partition("?")[0]).status == 403
        assert page.goto(link).status == 200
        page.wait_for_selector('#main[data-part="shelf"]')
        assert "key=" not in page.url
        phone.close()
