"""The pages, run on the demonstration without a browser."""

from collections.abc import Callable, Iterator
from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest
import streamlit as st
from streamlit.components.v2 import manifest_scanner
from streamlit.runtime.caching import cache_resource_api
from streamlit.runtime.scriptrunner.script_cache import ScriptCache
from streamlit.testing.v1 import AppTest

from collection import pipeline
from collection.plan.parameters import planning
from collection.plan.stability import stability
from collection.questions.triage import Triage
from collection.settings import as_of_day
from collection.store import Store

FEW_DRAWS = planning().model_copy(update={"draws": 50, "full_solves": 1})
STATES = 20  # kept of each question: between two tests of the demonstration there may be many of stores of their own
APP = Path(__file__).parents[2] / "dashboard" / "app.py"


@pytest.fixture(scope="session")
def found(demonstration: Store) -> Triage:
    return pipeline.assess_store(demonstration, lambda c: as_of_day(None, c))


@pytest.fixture(scope="session", autouse=True)
def _no_cache() -> Iterator[None]:
    """What was read of a store in its version is kept for all tests; `unread` is for tests about reading."""
    real = cache_resource_api.ResourceCaches.get_cache

    def roomy(self: Any, **named: Any) -> Any:
        return real(self, **{**named, "max_entries": STATES})

    st.cache_resource.clear()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cache_resource_api.ResourceCaches, "get_cache", roomy)
        yield
    st.cache_resource.clear()


@pytest.fixture(scope="session", autouse=True)
def _compiled_once() -> Iterator[None]:
    """One cache of compiled pages for all sessions, as a server has it."""
    scripts = ScriptCache()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("streamlit.testing.v1.app_test.ScriptCache", lambda: scripts)
        patch.setattr("streamlit.testing.v1.local_script_runner.ScriptCache", lambda: scripts)
        yield


@pytest.fixture(scope="session", autouse=True)
def _packages_scanned_once() -> Iterator[None]:
    """Which installed packages hold components is asked once, as a server asks it, and not for every test."""
    scanned = cache(manifest_scanner.scan_component_manifests)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(manifest_scanner, "scan_component_manifests", scanned)
        yield


@pytest.fixture(autouse=True)
def _patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan is there when its page is, on a busy machine too; what is shown meanwhile has a test of its own.
    It is drawn a few times only."""
    monkeypatch.setattr("dashboard.plan_work.PATIENCE_S", 60.0)
    monkeypatch.setattr("dashboard.plan_work.stability", partial(stability, figures=FEW_DRAWS))


@pytest.fixture
def unread(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing was read of any store, while this test lasts."""
    monkeypatch.setattr(cache_resource_api._resource_caches, "_function_caches", {})


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch, demonstration: Store) -> Callable[..., AppTest]:
    """Open a page at an address, on the demonstration or another store; with all that unfolds unfolded if so asked."""

    def opened(name: str = "storeroom", store: Store | None = None, *, unfolded: bool = False, **query: str) -> AppTest:
        monkeypatch.setenv("ENAMELS_STORE", str((store or demonstration).path))
        app = AppTest.from_file(APP, default_timeout=60)
        for key, value in query.items():
            app.query_params[key] = value
        with monkeypatch.context() as patch:
            if unfolded:
                patch.setattr(st, "expander", partial(st.expander, expanded=True))
            app.run() if name == "storeroom" else app.switch_page(f"views/{name}.py").run()
        return app

    return opened


@pytest.fixture(scope="session")
def already_open() -> dict[object, AppTest]:
    """Pages of the demonstration that were opened to be read, by address."""
    return {}


@pytest.fixture
def to_read(page: Callable[..., AppTest], already_open: dict[object, AppTest]) -> Callable[..., AppTest]:
    """A page of the demonstration that a test only reads: opened once for all tests."""

    def opened(name: str = "storeroom", **query: str) -> AppTest:
        address = (name, *sorted(query.items()))
        if address not in already_open:
            already_open[address] = page(name, **query)
        return already_open[address]

    return opened


@pytest.fixture
def choose(page: Callable[..., AppTest], store: Store) -> Callable[..., AppTest]:
    """Choose a file on the page that brings files in, in a folder without a store or on the store that is there."""

    def chosen(name: str, data: bytes, app: AppTest | None = None) -> AppTest:
        app = app or page("bring_in", store)
        return app.file_uploader[0].upload(name, data).run()

    return chosen


@pytest.fixture
def said() -> Callable[[AppTest], str]:
    """Everything that a page says in HTML, titles, Markdown and links."""

    def words(app: AppTest) -> str:
        html = [h.proto.body for h in app.get("html") if not h.proto.body.startswith("<style>")]
        links = [link.proto.label for link in app.get("page_link")]
        return "\n".join([*html, *(m.value for m in app.markdown), *(t.value for t in app.title), *links])

    return words


@pytest.fixture
def answer() -> Callable[[AppTest], str]:
    """The answer of a page."""
    return lambda app: next(h.proto.body for h in app.main.get("html") if 'class="answer"' in h.proto.body)
