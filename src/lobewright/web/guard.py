"""Who may ask: only pages that this server itself has sent, under the address that it was started with.

A browser that has been led elsewhere may ask a loopback address in that page's name. It then names another host (a name that
was pointed here) or another origin; both are refused before any handler runs. Other accounts on this computer are not kept out,
which the how-to says.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-cache"),
)
LARGEST_BODY = 1_500_000
"""Bytes: a design file has at most one million, and JSON around it."""


class Guard:
    """Lets requests through whose Host, and Origin where there is one, are this server's own; adds headers to answers."""

    def __init__(self, app: App, hosts: frozenset[str]) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        heads = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        reason = self.refused(scope["method"], heads)
        if reason:
            await _refuse(send, reason)
            return

        async def with_headers(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                given = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [*message["headers"], *(one for one in HEADERS if one[0] not in given)]
            await send(message)

        await self.app(scope, _bounded(receive), with_headers)

    def refused(self, method: str, heads: dict[str, str]) -> str:
        """Why a request is not answered; empty where it is."""
        if heads.get("host", "") not in self.hosts:
            return "this address is not the one that the page was opened with"
        origin = heads.get("origin")
        if origin is not None and origin not in {f"http://{host}" for host in self.hosts}:
            return "another page asked"
        if heads.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return "another page asked"
        if method not in ("GET", "HEAD") and not heads.get("content-type", "").startswith("application/json"):
            return "changes are asked for in JSON"
        if heads.get("content-length", "0").isdecimal() and int(heads.get("content-length", "0")) > LARGEST_BODY:
            return f"more than {LARGEST_BODY} bytes"
        return ""


def _bounded(receive: Receive) -> Receive:
    """A body without a stated length ends where it grows beyond what is allowed."""
    taken = 0

    async def bounded() -> MutableMapping[str, Any]:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        return {"type": "http.disconnect"} if taken > LARGEST_BODY else message

    return bounded


async def _refuse(send: Send, reason: str) -> None:
    body = f'{{"error": "Refused", "faults": [{{"what": "{reason}", "sentence": "Refused: {reason}."}}]}}'.encode()
    heads = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode()), *HEADERS]
    await send({"type": "http.response.start", "status": 403, "headers": heads})
    await send({"type": "http.response.body", "body": body})
