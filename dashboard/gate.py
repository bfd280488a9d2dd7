"""The gate of the server: it answers only to a browser that asks for this very address, from a page of its own.

A name that leads here from elsewhere (another Host), a page of another address, port or no address at all (another
Origin), and a page that would hold ours in a frame are refused, for pages and for the web socket alike.
"""

from collections.abc import Awaitable, Callable, Collection, Mapping, MutableMapping
from typing import Any
from urllib.parse import quote

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Message, Receive, Send], Awaitable[None]]

REFUSED_HTTP, SEE_OTHER, POLICY_VIOLATED = 403, 307, 1008  # RFC 9110, RFC 6455
HEADERS = (
    (b"content-security-policy", b"frame-ancestors 'none'"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"referrer-policy", b"same-origin"),
    (b"x-content-type-options", b"nosniff"),
)
REFUSAL = b"Enamel Register answers only to its own address on this machine. Open the address that the command said.\n"
MISSING = "missing"  # parameter that carries the name of a page there is none of


class Gate:
    """ASGI middleware.

    Parameters
    ----------
    hosts : the values of Host that are this server, with their port.
    start : address of the page that is shown at `/`.
    pages : addresses of the other pages.
    """

    def __init__(self, app: App, hosts: Collection[str], start: str, pages: Collection[str]) -> None:
        self._app, self._start, self._pages = app, start, frozenset(pages)
        self._hosts = frozenset(host.lower() for host in hosts)
        self._origins = frozenset(f"http://{host}" for host in self._hosts)

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Pass on what is ours; refuse or lead back the rest."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
        elif not self._is_ours(scope):
            await _refuse(scope, send)
        elif target := self._elsewhere(scope):
            await _answer(send, SEE_OTHER, b"", ((b"location", target.encode()),))
        else:
            await self._app(scope, receive, _with_headers(send))

    def _is_ours(self, scope: Message) -> bool:
        """Host is ours; Origin, which a browser sends with each web socket and each write, is ours too."""
        headers = _headers(scope)
        hosts, origins = headers.get("host", []), headers.get("origin", [])
        if len(hosts) != 1 or hosts[0] not in self._hosts:
            return False
        if not origins:
            return bool(scope["type"] == "http")
        return len(origins) == 1 and origins[0] in self._origins

    def _elsewhere(self, scope: Message) -> str:
        """Where a page address leads that Streamlit does not know; empty where it does."""
        if scope["type"] != "http":
            return ""
        path, query = scope["path"], scope.get("query_string", b"").decode("latin-1")
        name = path.strip("/")
        if not name or "/" in name or "." in name or name.startswith("_") or name in self._pages:
            return ""
        more = [query] if query else []
        return "/?" + "&".join(more if name == self._start else [*more, f"{MISSING}={quote(name, safe='')}"])


def _headers(scope: Message) -> Mapping[str, list[str]]:
    """Values of each header, small letters."""
    values: dict[str, list[str]] = {}
    for name, value in scope["headers"]:
        values.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1").lower())
    return values


async def _refuse(scope: Message, send: Send) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": POLICY_VIOLATED})
    else:
        await _answer(send, REFUSED_HTTP, REFUSAL, ((b"content-type", b"text/plain; charset=utf-8"),))


async def _answer(send: Send, status: int, body: bytes, headers: tuple[tuple[bytes, bytes], ...]) -> None:
    await send({"type": "http.response.start", "status": status, "headers": [*headers, *HEADERS]})
    await send({"type": "http.response.body", "body": body})


def _with_headers(send: Send) -> Send:
    """The same, with headers that keep pages of others from holding or reading ours."""

    async def wrapped(message: Message) -> None:
        if message["type"] == "http.response.start":
            message = {**message, "headers": [*message.get("headers", []), *HEADERS]}
        await send(message)

    return wrapped
