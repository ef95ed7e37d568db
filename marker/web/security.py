"""Who may talk to the page: this machine's own browser, with the secret it was started with.

Against other sites in the same browser (rebinding, cross-site requests), `Host` and `Origin` must
be ours. Against other users of the machine, every request carries the secret.
"""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Iterable
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY_BYTES = 60_000_000
"""A photograph of pattern pieces is the largest thing that anyone sends."""

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "form-action 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
_HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}
_CHANGES_NOTHING = {"GET", "HEAD"}


class Gate:
    """Lets a request through only with a known Host, our own Origin and the secret.

    hosts : values of the Host header under which the page may be asked for, with the port.
    secret : carried by a cookie, a `key` in the address, or `Authorization: Bearer`.
    """

    def __init__(self, app: ASGIApp, hosts: Iterable[str], secret: str) -> None:
        self._app = app
        self._hosts = frozenset(hosts)
        self._secret = secret
        self._cookie = f"marker-{secrets.token_hex(4)}"  # another page on another port has its own

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        answer = self._refusal(scope) or self._entry(scope)
        began = False

        async def with_headers(message: Message) -> None:
            nonlocal began
            if message["type"] == "http.response.start":
                began = True
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers[name] = value
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        try:
            await (answer or self._app)(scope, _limited(receive), with_headers)
        except asyncio.CancelledError:  # the page is closed while its answer is worked out
            if not began:
                closed = PlainTextResponse("The page has been closed.", 503)
                await closed(scope, receive, with_headers)

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if host not in self._hosts:
            return PlainTextResponse("This address is not served here.", 421)
        origin = headers.get("origin")
        foreign = origin is not None and origin != f"http://{host}"
        if foreign or headers.get("sec-fetch-site") in {"cross-site", "same-site"}:
            return PlainTextResponse("Another site may not use this page.", 403)
        given = self._given(scope, headers)
        if not any(secrets.compare_digest(key.encode(), self._secret.encode()) for key in given):
            return PlainTextResponse(
                "Open the page by the whole address that `marker serve` printed.", 403
            )
        if scope["method"] not in _CHANGES_NOTHING and origin is None and self._by_cookie(headers):
            return PlainTextResponse("A change must say where it comes from.", 403)
        if int(headers.get("content-length") or 0) > LARGEST_BODY_BYTES:
            return PlainTextResponse("That is too large.", 413)
        return None

    def _entry(self, scope: Scope) -> Response | None:
        """The first request hands its secret over to a cookie, and out of the address bar."""
        if scope["path"] != "/" or "key" not in parse_qs(scope["query_string"].decode("latin-1")):
            return None
        answer = RedirectResponse("/", 303)
        answer.set_cookie(self._cookie, self._secret, httponly=True, samesite="strict", path="/")
        return answer

    def _given(self, scope: Scope, headers: Headers) -> list[str]:
        kind, _, bearer = headers.get("authorization", "").partition(" ")
        cookie = cookie_parser(headers.get("cookie", "")).get(self._cookie, "")
        query = parse_qs(scope["query_string"].decode("latin-1")).get("key", [])
        return [cookie, *query, *([bearer] if kind.lower() == "bearer" else [])]

    def _by_cookie(self, headers: Headers) -> bool:
        return self._cookie in cookie_parser(headers.get("cookie", ""))


def new_secret() -> str:
    """A secret that nobody guesses: 192 random bits."""
    return secrets.token_urlsafe(24)


def _limited(receive: Receive) -> Receive:
    """The body, cut off where it grows beyond what was announced or allowed."""
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > LARGEST_BODY_BYTES:
            return {"type": "http.disconnect"}
        return message

    return counted
