"""The gate: only this address, asked for by this name, from a page of its own."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.gate import POLICY_VIOLATED, Gate
from dashboard.pages import PAGES, START

HOSTS = ("127.0.0.1:8501", "localhost:8501")
OTHERS = tuple(page.address for page in PAGES if page is not START)


def run(coroutine):
    """To its end: nothing here waits for anything, so no event loop is needed."""
    with contextlib.suppress(StopIteration):
        coroutine.send(None)
        pytest.fail("the gate waited for something")


def ask(kind="http", path="/", query=b"", **headers):
    """What comes of one request: messages sent back, and whether the application behind the gate saw it."""
    seen, sent = [], []

    async def app(scope, receive, send):
        seen.append(scope["path"])
        await send({"type": "http.response.start", "status": 200, "headers": []})

    async def send(message):
        sent.append(message)

    pairs = [(name.encode(), value.encode("latin-1")) for name, values in headers.items() for value in values]
    scope = {"type": kind, "path": path, "query_string": query, "headers": pairs}
    run(Gate(app, HOSTS, START.address, OTHERS)(scope, None, send))
    return sent, bool(seen)


@pytest.mark.parametrize("host", [*HOSTS, "LOCALHOST:8501"])
@pytest.mark.parametrize("origin", [[], ["http://localhost:8501"], ["http://127.0.0.1:8501"]])
def test_a_page_of_its_own_is_answered_and_may_stand_in_no_frame(host, origin):
    sent, seen = ask(host=[host], origin=origin)

    assert seen
    assert (b"content-security-policy", b"frame-ancestors 'none'") in sent[0]["headers"]


REFUSED_HOSTS = [
    "",
    "evil.example:8501",
    "127.0.0.1",
    "127.0.0.1:80",
    "localhost",
    "127.0.0.1:8501.evil.example",
    "[::1]:8501",
]


@pytest.mark.parametrize("kind", ["http", "websocket"])
@pytest.mark.parametrize("host", [[h] for h in REFUSED_HOSTS] + [[], list(HOSTS)])
def test_another_name_none_or_two_are_refused(kind, host):
    sent, seen = ask(kind, host=host, origin=["http://127.0.0.1:8501"])

    assert not seen
    assert sent[0].get("status", sent[0].get("code")) in (403, POLICY_VIOLATED)


REFUSED_ORIGINS = [
    "null", "file://", "", "http://localhost:3000", "http://127.0.0.1", "https://localhost:8501", "http://evil.example",
    "http://localhost:8501.evil.example", "http://localhost:8501/",
]  # fmt: skip


@pytest.mark.parametrize("kind", ["http", "websocket"])
@pytest.mark.parametrize("origin", REFUSED_ORIGINS)
def test_a_page_of_another_address_or_port_reads_and_writes_nothing(kind, origin):
    sent, seen = ask(kind, host=["127.0.0.1:8501"], origin=[origin])

    assert not seen
    assert sent[0].get("status", sent[0].get("code")) in (403, POLICY_VIOLATED)


def test_a_web_socket_without_an_origin_is_no_browser_and_is_refused():
    assert not ask("websocket", path="/_stcore/stream", host=["127.0.0.1:8501"])[1]


@given(st.text(st.characters(codec="latin-1"), max_size=40), st.text(st.characters(codec="latin-1"), max_size=40))
def test_no_other_pair_of_names_is_let_in(host, origin):
    allowed = host.lower() in HOSTS and origin.lower() in {f"http://{name}" for name in HOSTS}

    assert ask("websocket", host=[host], origin=[origin])[1] == allowed


@pytest.mark.parametrize(
    ("path", "query", "target"),
    [
        ("/storeroom", b"", b"/?"),
        ("/storeroom", b"technique=painted", b"/?technique=painted"),
        ("/storerom", b"find=x", b"/?find=x&missing=storerom"),
        ("/a b", b"", b"/?missing=a%20b"),
    ],
)
def test_the_first_page_has_its_name_and_a_mistyped_one_leads_back(path, query, target):
    sent, seen = ask(path=path, query=query, host=["127.0.0.1:8501"])

    assert not seen
    assert sent[0]["status"] == 307
    assert (b"location", target) in sent[0]["headers"]


@pytest.mark.parametrize("path", ["/", "/condition", "/_stcore/health", "/static/js/x.js", "/favicon.png", "/object/"])
def test_what_the_server_itself_knows_is_passed_on(path):
    assert ask(path=path, host=["127.0.0.1:8501"])[1]
