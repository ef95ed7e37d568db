"""What goes wrong on the page: nothing is lost, and a sentence says what happened."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import TWO_PIECES, job_file, marker
from tests.web.browsing import Server, Tab, chromium, served

REFUSED = "Failed to load resource"
"""What the browser itself puts on the console when the page is refused something."""


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a job that is laid."""
    chromium()
    folder = tmp_path_factory.mktemp("folder")
    job_file(folder, TWO_PIECES)
    out = folder / "outputs" / "choir-dress"
    done = marker("lay", folder / "job.toml", "--out", out, "--iterations", 0, "--quiet")
    assert done.exit_code == 0, done.output
    return folder


@pytest.fixture
def folder(laid: Path, tmp_path: Path) -> Path:
    shutil.copytree(laid, tmp_path / "jobs")
    return tmp_path / "jobs"


@pytest.fixture
def server(folder: Path) -> Iterator[Server]:
    with served(folder) as server:
        yield server


@contextmanager
def tab(chrome: Any, server: Server) -> Iterator[Tab]:
    """A tab whose browser may tell of requests that were refused, or found nobody."""
    at = Tab(chrome, server)
    at.forgive(REFUSED)
    yield at
    at.close()
    assert at.faults == []


def pieces(at: Tab) -> list[list[str]]:
    """Which pieces the page shows, and how each lies."""
    drawn: list[list[str]] = at.page.evaluate(
        "() => [...document.querySelectorAll('[data-piece]')].map("
        "(each) => [each.dataset.key, each.querySelector('.cut').getAttribute('d')])"
    )
    return sorted(drawn)


def stored(folder: Path) -> Any:
    text = (folder / "outputs" / "choir-dress" / "layout.json").read_text(encoding="utf-8")
    return json.loads(text)["placements"]


def test_two_tabs_show_the_same_and_lose_nothing(chrome: Any, server: Server) -> None:
    job = server.job("choir dress")
    with tab(chrome, server) as one, tab(chrome, server) as two:
        one.open(job, "layout")
        two.open(job, "layout")
        before = pieces(two)
        one.page.locator('[data-piece="7"]').focus()
        one.page.keyboard.press("ArrowRight")
        one.said("from the start")
        two.until(lambda: pieces(two) != before)
        assert pieces(two) == pieces(one)
        two.page.get_by_role("button", name="Undo").click()
        one.until(lambda: pieces(one) == before)
        # the text of the file, in both
        one.open(job, "file")
        two.open(job, "file")
        mine = two.page.get_by_label("Job file")
        mine.fill(mine.input_value() + "# of the second tab\n")
        area = one.page.get_by_label("Job file")
        area.fill(area.input_value() + "# of the first tab\n")
        one.page.get_by_role("button", name="Save").click()
        one.said("Written to the job file")
        two.said("Your text stays here")
        two.page.get_by_role("button", name="Save").click()
        two.said("changed elsewhere")
        assert "# of the second tab" in mine.input_value()
        text = (server.folder / "job.toml").read_text(encoding="utf-8")
        assert "# of the first tab" in text
        assert "# of the second tab" not in text
        two.page.get_by_role("button", name="Load it again").click()
        two.until(lambda: "# of the first tab" in mine.input_value())


def test_a_job_file_changed_on_disk_is_seen(chrome: Any, server: Server) -> None:
    job = server.job("choir dress")
    with tab(chrome, server) as at:
        at.open(job, "pattern")
        path = server.folder / "job.toml"
        sound = path.read_text(encoding="utf-8")
        path.write_text(sound.replace("cut = 3", "cut = 2"), encoding="utf-8")
        at.page.get_by_text("cut 2 from jersey").wait_for()
        at.said("changed elsewhere")
        path.write_text(sound.replace("cut = 3", "cut = -3"), encoding="utf-8")
        at.page.locator(".fault").first.wait_for()
        path.write_text(sound, encoding="utf-8")
        at.page.get_by_text("cut 3 from jersey").wait_for()


def test_a_server_that_is_killed_in_a_search_loses_no_layout(chrome: Any, folder: Path) -> None:
    text = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(text.replace('"38" = 1', '"38" = 6'), encoding="utf-8")
    server = Server(folder)
    with tab(chrome, server) as at:
        at.open(server.job("choir dress"), "layout")
        at.page.get_by_label("Seconds", exact=True).fill("60")
        at.page.get_by_role("button", name="Lay", exact=True).click()
        at.page.wait_for_selector("[data-piece]")
        at.page.wait_for_selector(".trying", state="attached")
        found = stored(folder)
        server.killed()
        at.said("What was laid and written is stored")
        at.page.get_by_role("button", name="Stop").click()
        at.said("Start `marker serve` again")
    assert len(found) == 42
    with served(folder) as again, tab(chrome, again) as at:
        at.open(again.job("choir dress"), "layout")
        assert len(pieces(at)) == 42


def test_what_was_done_is_undone_after_a_crash(chrome: Any, folder: Path) -> None:
    server = Server(folder)
    with tab(chrome, server) as at:
        at.open(server.job("choir dress"), "layout")
        before = pieces(at)
        at.page.locator('[data-piece="7"]').focus()
        at.page.keyboard.press("ArrowRight")
        at.said("from the start")
        after = pieces(at)
        server.killed()
    with served(folder) as again, tab(chrome, again) as at:
        page = at.open(again.job("choir dress"), "layout")
        assert pieces(at) == after
        page.get_by_role("button", name="Undo").click()
        at.until(lambda: pieces(at) == before)


def test_a_dropped_connection_is_told_and_taken_up_again(chrome: Any, server: Server) -> None:
    with tab(chrome, server) as at:
        at.page.route("**/picture", lambda route: route.abort())  # asked for beside what is shown
        at.page.reload()
        at.said("The server does not answer")
        page = at.open(server.job("choir dress"), "layout")
        before = pieces(at)
        at.offline(True)
        page.locator('[data-piece="7"]').focus()
        page.keyboard.press("ArrowRight")
        at.said("The server does not answer")
        assert pieces(at) == before
        at.offline(False)
        page.keyboard.press("ArrowRight")
        at.said("from the start")


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("broken.svg", b"<svg", "broken.svg: it is not well-formed"),
        ("empty.dxf", b"", "empty"),
        ("photo.exe", b"MZ\x00\x01", ""),
        ("<img src=x>.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>", ""),
    ],
)
def test_a_broken_file_is_refused_with_a_sentence(
    chrome: Any, shelf: Server, name: str, content: bytes, said: str
) -> None:
    before = sorted(shelf.folder.iterdir())
    with tab(chrome, shelf) as at:
        page = at.page
        page.get_by_label("Name", exact=True).fill("dropped")
        page.get_by_label("Drawings").set_input_files(
            [{"name": name, "mimeType": "", "buffer": content}]
        )
        page.get_by_role("button", name="Read them").click()
        page.locator(".fault").first.wait_for()
        assert said.lower() in page.locator(".fault").first.inner_text().lower()
        assert page.locator(".fault img").count() == 0
    assert sorted(shelf.folder.iterdir()) == before


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    chromium()
    with served(tmp_path_factory.mktemp("shelf")) as server:
        yield server
