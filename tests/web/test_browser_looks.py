"""Every part of the page: no fault on the console; for narrow screens, keyboards and readers."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import marker
from tests.web.browsing import Server, Tab, chromium, served, tab

PIECES = Path(__file__).parents[2] / "pieces"
PARTS = ("pattern", "cloth", "layout", "buy", "order", "print", "cut", "file")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    chromium()
    folder = tmp_path_factory.mktemp("folder")
    shutil.copytree(PIECES / "choir-dress", folder / "dress")
    out = folder / "outputs" / "choir-dress"
    job = folder / "dress" / "job.toml"
    assert marker("lay", job, "--out", out, "--iterations", 0, "--quiet").exit_code == 0
    with served(folder) as server:
        yield server


def faults_of(at: Tab) -> list[str]:
    """What axe-core finds wrong, each with the first place."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    found = axe.Axe().run(at.page, options={"runOnly": {"type": "tag", "values": RULES}})
    return [
        f"{each['id']}: {each['help']} {each['nodes'][0]['html'][:120]}"
        for each in found.response["violations"]
    ]


@pytest.mark.parametrize("width", [360, 1400])
def test_every_part_fits(chrome: Any, server: Server, width: int) -> None:
    with tab(chrome, server, width=width) as at:
        wrong = {part: beyond(at) for part in every_part(at)}
    assert {part: found for part, found in wrong.items() if found} == {}


def test_every_part_can_be_read_by_all(chrome: Any, server: Server) -> None:
    with tab(chrome, server, width=1000) as at:
        wrong = {part: faults_of(at) for part in every_part(at)}
    assert {part: found for part, found in wrong.items() if found} == {}


def every_part(at: Tab) -> Iterator[str]:
    """The name of each part of the page, which is then open."""
    at.page.wait_for_selector('#main[data-part="shelf"]')
    at.page.wait_for_selector(".shelf svg")
    yield "shelf"
    job = at.server.job("choir dress")
    for part in PARTS:
        at.open(job, part)
        yield part
        if part == "pattern":  # each way to add a piece
            at.page.get_by_text("Add a piece").click()
            for way in at.page.get_by_role("radio").all():
                way.check()
                yield f"{part}, {way.locator('xpath=..').inner_text()}"


def beyond(at: Tab) -> list[str]:
    """Whether the page can be moved sideways."""
    wide, room = at.page.evaluate(
        "() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    return [f"{wide} px wide in {room}"] if wide > room else []


def test_all_of_it_is_reached_by_keyboard(chrome: Any, server: Server) -> None:
    with tab(chrome, server) as at:
        page = at.open(server.job("choir dress"), "layout")
        page.evaluate("() => document.activeElement.blur()")
        reached: list[str] = []
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("() => document.activeElement === document.body"):
                continue  # round the end
            name, visible = page.evaluate(
                "() => { const e = document.activeElement; const s = getComputedStyle(e);"
                "const c = e.querySelector?.('.cut'); return [e.dataset?.piece ?? e.textContent,"
                "s.outlineStyle !== 'none' || (c && getComputedStyle(c).strokeWidth === '4px')]; }"
            )
            assert visible, f"the focus is not to be seen on {name}"
            reached.append(name)
        assert {"Skip to the work", "Pattern", "Lay", "1", "9", "Keep this layout"} <= set(reached)
        # choose, pin and let go without a mouse
        page.locator('[data-piece="2"]').focus()
        page.keyboard.press("Enter")
        assert page.locator('[data-piece="2"]').get_attribute("aria-pressed") == "true"
        page.keyboard.press("p")
        page.locator(".piece.pinned").wait_for()
        assert page.evaluate("() => document.activeElement.classList.contains('piece')")
        page.keyboard.press("p")
        page.locator(".piece.pinned").wait_for(state="detached")


def test_nothing_moves_where_less_motion_is_wanted(chrome: Any, server: Server) -> None:
    with tab(chrome, server, reduced_motion="reduce") as at:
        page = at.open(server.job("choir dress"), "layout")
        for selector in (".piece", "button", "main"):
            style = page.locator(selector).first.evaluate(
                "(each) => getComputedStyle(each).transitionDuration"
            )
            assert style in {"0s", ""}
        page.get_by_label("Seconds", exact=True).fill("1")
        page.get_by_role("button", name="Lay", exact=True).click()
        at.said("Laid and checked")
        assert page.locator(".trying").count() == 0


def test_names_that_others_rely_on(chrome: Any, server: Server) -> None:
    with tab(chrome, server) as at:
        page = at.open(server.job("choir dress"), "layout")
        for name in ("Lay", "Stop", "Pin", "Undo", "Redo", "Print", "Download"):
            assert page.get_by_role("button", name=name, exact=True).count() == 1
        assert page.get_by_label("Width", exact=True).count() == 1
        numbers = page.locator('[data-view="layout"] [data-piece]').evaluate_all(
            "(all) => all.map((each) => Number(each.dataset.piece))"
        )
        assert sorted(numbers) == list(range(1, 10))
