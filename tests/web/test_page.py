"""The page as a browser or a program meets it: a real server on this machine."""

from __future__ import annotations

import json
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.commands import TWO_PIECES, job_file
from tests.web.browsing import Server, served

STATIC = Path(__file__).parents[2] / "marker" / "web" / "static"
LARGEST_PAGE_BYTES = 400_000


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("folder")
    job_file(folder, TWO_PIECES)
    with served(folder) as server:
        yield server


def test_jobs_layout_and_findings_are_there_for_programs(server: Server) -> None:
    (job,) = server.get("/api/jobs")
    path = f"/api/jobs/{job['id']}"
    assert server.get(f"{path}/findings") == {"findings": []}
    server.post(f"{path}/layout/lay", seconds=0.5)
    deadline = time.monotonic() + 300
    while server.get(f"{path}/desk")["searching"] and time.monotonic() < deadline:
        time.sleep(0.1)
    layout = server.get(f"{path}/layout")
    assert (layout["format"], len(layout["placements"])) == (1, 7)


@pytest.mark.parametrize(
    ("path", "code"),
    [
        ("/api/jobs/nobody/desk", 404),
        ("/static/../app.py", 404),
        ("/static/%2e%2e/app.py", 404),
        ("/etc/passwd", 404),
    ],
)
def test_what_is_not_there(server: Server, path: str, code: int) -> None:
    with pytest.raises(urllib.error.HTTPError) as refused:
        server.get(path)
    assert refused.value.code == code


def test_a_body_that_is_no_object_is_refused(server: Server) -> None:
    (job,) = server.get("/api/jobs")
    address = f"{server.address}/api/jobs/{job['id']}/layout/lay"
    for body in (b"[1]", b"{", b"[" * 100_000):
        request = urllib.request.Request(address, body, method="POST")
        request.add_header("Authorization", f"Bearer {server.secret}")
        with pytest.raises(urllib.error.HTTPError) as refused:
            urllib.request.urlopen(request, timeout=300)
        assert refused.value.code in {404, 409, 422}


def test_the_page_is_light_and_fetches_nothing_from_elsewhere() -> None:
    files = [path for path in STATIC.iterdir() if path.is_file()]
    assert sum(path.stat().st_size for path in files) <= LARGEST_PAGE_BYTES
    for path in files:
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http://" not in text
        assert "https://" not in text
        assert "innerHTML" not in text  # names are shown as text, never as markup


def test_a_garment_is_made_from_measures(server: Server) -> None:
    names = [each["name"] for each in server.get("/api/garments")["garments"]]
    assert "half circle skirt" in names
    body = {"garment": "half circle skirt", "size": "38", "measures": {"waist": "74 cm"}}
    made = server.post("/api/jobs", name="choir skirt", **body)
    assert server.get(f"/api/jobs/{made['id']}")["name"] == "choir skirt"
    with pytest.raises(urllib.error.HTTPError) as taken:
        server.post("/api/jobs", name="choir skirt", **body)
    assert (taken.value.code, "already" in taken.value.read().decode()) == (422, True)
    for name in ("", "../away", "a\nb"):
        with pytest.raises(urllib.error.HTTPError) as refused:
            server.post("/api/jobs", name=name, **body)
        assert refused.value.code == 422


def test_a_drawing_is_made_a_job(server: Server) -> None:
    drawing = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" '
        'viewBox="0 0 300 200"><rect id="panel" x="10" y="10" width="200" height="120"/></svg>'
    )
    parts = {"name": "banner", "width": "150 cm", "unit": ""}
    form = "".join(
        f'--b\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'
        for key, value in parts.items()
    )
    head = 'Content-Disposition: form-data; name="drawing"; filename="../x/panel.svg"'
    form += f"--b\r\n{head}\r\nContent-Type: image/svg+xml\r\n\r\n{drawing}\r\n--b--\r\n"
    request = urllib.request.Request(
        f"{server.address}/api/drawings", form.encode(), method="POST",
        headers={"Content-Type": "multipart/form-data; boundary=b",
                 "Authorization": f"Bearer {server.secret}"},
    )  # fmt: skip
    with urllib.request.urlopen(request, timeout=300) as answer:
        made = json.load(answer)
    pattern = server.get(f"/api/jobs/{made['id']}/pattern")
    assert [piece["name"] for piece in pattern["pieces"]] == ["panel"]
    # an outline that was read is corrected in the job file, and its drawing stays as it is
    url = f"/api/jobs/{made['id']}/pattern"
    (before,) = pattern["pieces"]
    server.post(f"{url}/corner", piece="panel", corner=1, by_mm=[-5, 2])
    (after,) = server.get(url)["pieces"]
    assert after["corners_mm"][0] == pytest.approx(
        [before["corners_mm"][0][0] - 5, before["corners_mm"][0][1] + 2]
    )
    assert after["corners_mm"][1:] == before["corners_mm"][1:]
    crossing = {"corner": 1, "by_mm": [500, -60]}
    for what, body, code in (("corner", crossing, 422), ("drop", {}, 409)):  # it is the only one
        with pytest.raises(urllib.error.HTTPError) as refused:
            server.post(f"{url}/{what}", piece="panel", **body)
        assert refused.value.code == code
    server.post(f"{url}/undo")
    assert server.get(url)["pieces"] == [before]
