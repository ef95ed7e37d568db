"""Who may use the page: its own address and secret, from its own pages."""

from __future__ import annotations

import asyncio

import pytest
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from starlette.testclient import TestClient

from marker.web.security import LARGEST_BODY_BYTES, Gate, new_secret

HOST = "127.0.0.1:8123"
SECRET = "a secret of the test"


def client() -> TestClient:
    async def said(request: Request) -> PlainTextResponse:
        return PlainTextResponse(str(len(await request.body())))

    routes = [Route(path, said, methods=["GET", "POST"]) for path in ("/", "/api/jobs")]
    gate = Middleware(Gate, hosts=[HOST], secret=SECRET)
    app = Starlette(routes=routes, middleware=[gate])
    return TestClient(app, base_url=f"http://{HOST}", follow_redirects=False)


def test_a_page_closed_while_an_answer_is_worked_out_says_so() -> None:
    async def closed(_request: Request) -> PlainTextResponse:
        raise asyncio.CancelledError  # as the server does to what outlasts its end

    app = Gate(Starlette(routes=[Route("/", closed)]), [HOST], SECRET)
    browser = TestClient(app, base_url=f"http://{HOST}")
    answer = browser.get("/", headers={"Authorization": f"Bearer {SECRET}"})
    assert (answer.status_code, answer.text) == (503, "The page has been closed.")


def entered() -> TestClient:
    """A browser that opened the printed address."""
    browser = client()
    answer = browser.get("/", params={"key": SECRET})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    return browser


def test_the_printed_address_opens_the_page_and_leaves_the_address_bar() -> None:
    assert entered().get("/api/jobs").status_code == 200


def test_a_program_may_carry_the_secret_itself() -> None:
    assert client().get("/api/jobs", params={"key": SECRET}).status_code == 200
    bearer = {"Authorization": f"Bearer {SECRET}"}
    assert client().get("/api/jobs", headers=bearer).status_code == 200


@pytest.mark.parametrize("key", ["", "a secret of the tes", "A SECRET OF THE TEST", "ü"])
def test_nobody_comes_in_without_the_secret(key: str) -> None:
    assert client().get("/api/jobs").status_code == 403
    assert client().get("/api/jobs", params={"key": key}).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "evil.example"},
        {"Host": "evil.example:8123"},
        {"Host": "127.0.0.1:8124"},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": f"https://{HOST}"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_other_sites_are_turned_away(method: str, headers: dict[str, str]) -> None:
    assert entered().request(method, "/api/jobs", headers=headers).status_code in {403, 421}


def test_a_change_by_the_browser_names_its_origin() -> None:
    browser = entered()
    assert browser.post("/api/jobs").status_code == 403
    assert browser.post("/api/jobs", headers={"Origin": f"http://{HOST}"}).status_code == 200
    bearer = {"Authorization": f"Bearer {SECRET}"}
    assert client().post("/api/jobs", headers=bearer).status_code == 200


def test_what_is_too_large_is_not_read() -> None:
    told = {"Origin": f"http://{HOST}", "Content-Length": str(LARGEST_BODY_BYTES + 1)}
    assert entered().post("/api/jobs", headers=told).status_code == 413


def test_every_answer_forbids_inline_scripts_and_framing() -> None:
    for answer in (entered().get("/"), client().get("/")):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert answer.headers["referrer-policy"] == "no-referrer"
        assert answer.headers["cache-control"] == "no-store"


def test_secrets_differ() -> None:
    assert len({new_secret() for _ in range(20)}) == 20
