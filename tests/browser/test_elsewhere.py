"""A page from elsewhere, opened in the same browser, reads nothing of the register and writes nothing to it."""

import functools
import http.server
import threading

import pytest

TRIES = """async address => {
  const tried = {};
  const attempt = async (name, act) => { try { tried[name] = await act(); } catch (error) { tried[name] = 'refused'; } };
  const ws = address.replace('http', 'ws') + '/_stcore/stream';
  await attempt('page', async () => (await (await fetch(address + '/')).text()).length);
  await attempt('health', async () => (await (await fetch(address + '/_stcore/health')).text()).length);
  await attempt('write', async () => (await fetch(address + '/_stcore/upload_file/a/b', {method: 'PUT', body: 'x'})).status);
  await attempt('socket', () => new Promise(done => {
    const socket = new WebSocket(ws, ['streamlit']);
    socket.onopen = () => done('open');
    socket.onclose = () => done('refused');
    socket.onerror = () => done('refused');
  }));
  await attempt('frame', () => new Promise(done => {
    const frame = document.createElement('iframe');
    frame.onload = () => { try { done(frame.contentDocument ? 'refused' : 'hidden'); } catch (e) { done('refused'); } };
    frame.src = address;
    document.body.append(frame);
    setTimeout(() => done('refused'), 3000);
  }));
  return tried;
}"""


@pytest.fixture
def other_port(tmp_path):
    """A page of another port of this machine."""
    (tmp_path / "index.html").write_text("<!doctype html><title>Elsewhere</title>")
    quiet = type("Quiet", (http.server.SimpleHTTPRequestHandler,), {"log_message": lambda *_: None})
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(quiet, directory=tmp_path))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://localhost:{server.server_port}/"
    server.shutdown()
    server.server_close()


@pytest.mark.parametrize("where", ["other port", "no address", "other name"])
def test_a_page_from_elsewhere_reads_and_writes_nothing(chromium, settling, other_port, where):
    address, store = settling
    before = store.read_journal().height
    context = chromium.new_context()
    page = context.new_page()
    page.goto({"other port": other_port, "no address": "data:text/html,<p>x", "other name": other_port}[where])
    target = address if where != "other name" else address.replace("127.0.0.1", "rebound.localhost")

    tried = page.evaluate(TRIES, target)
    context.close()

    assert set(tried) == {"page", "health", "write", "socket", "frame"}
    frame = tried.pop("frame")
    assert set(tried.values()) == {"refused"}, tried
    assert frame in ("refused", "hidden")  # the browser shows its own page of refusal in the frame
    assert store.read_journal().height == before
