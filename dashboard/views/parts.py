"""Pieces that pages share: first lines, pictures with figures, tables with downloads, links, how far work is."""

from collections.abc import Callable, Mapping
from functools import partial
from operator import attrgetter
from types import FunctionType
from typing import Any, Literal

import polars as pl
import streamlit as st

from collection.documents.sheet import workbook
from collection.questions.triage import Triage
from collection.questions.words import coverage_sentence, day_in_words, rest_sentence
from dashboard import data, filters, tables, text, theme
from dashboard.background import Task
from dashboard.pages import PAGES

Headings = Mapping[str, str]  # what stands above columns, where it is not what every page shares
NO_HEADINGS: Headings = {}
Draw = Callable[[pl.DataFrame, theme.Tones], Any]  # a frame and tones to an Altair chart
SPECS = 256  # charts kept ready
OPEN = "_open"  # ends the key of what unfolds
PAGE = "page_of_this_run"  # key of the session
CSV, DOWNLOAD = "text/csv", "Download as shown (CSV)"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
DOWNLOAD_BOOK = "Download as shown (XLSX)"
OBJECT_PAGE = "views/object.py"
PAGES_BY_FILE = {page.file: page for page in PAGES}
ONLY_DRAWN = ""  # heading of a column of a picture that its figures leave out
EVERY_S = 1.0  # between two looks
STEPS_SHOWN = "steps_shown"  # begins a key of the session


def look() -> theme.Tones:
    """Tones of the theme the person looks at."""
    return theme.tones(st.context.theme.type)


def head(triage: Triage, title: str, answer: str, *, rest: bool = False, more: str = "") -> None:
    """Title, coverage, what is shown of the collection, the answer; `more` is HTML of ours. One element: it is fast."""
    st.title(title, anchor=False)
    covered = (
        rest_sentence(triage.coverage(filters.chosen(triage)))
        if rest
        else coverage_sentence(triage.coverage(filters.chosen(triage)))
    )
    lines = [(covered, "said"), *filters.sentences(triage), (answer, "answer")]
    st.html("".join(text.paragraph(words, kind) for words, kind in lines) + more)


def say(words: str, kind: str = "said") -> None:
    """A sentence, as text."""
    st.html(text.paragraph(words, kind))


def section(title: str, words: str = "") -> None:
    """What stands above a part of the page, and a sentence on it."""
    st.html(text.heading(title) + (text.paragraph(words) if words else ""))


def picture(
    key: str, draw: Draw, frame: pl.DataFrame, *, alt: str, caption: str, headings: Headings = NO_HEADINGS, **more: Any
) -> Any:
    """A chart, what was counted and when, and its figures to look at and take away."""
    event = st.vega_lite_chart(_spec(draw, frame, look()), theme=None, width="stretch", key=key, alt=alt, **more)
    say(caption)
    _figures(key, frame, alt, headings)
    return event


def pictures(
    key: str,
    draw: Draw,
    frame: pl.DataFrame,
    by: str,
    *,
    alt: str,
    caption: str,
    columns: int = 1,
    headings: Headings = NO_HEADINGS,
) -> None:
    """A small chart for each value of `by`, under its name, in so many columns where there is room, read downwards;
    one caption and one table of figures for all.
    """
    places = st.columns(columns, gap="large") if columns > 1 else [st.container()]
    several = frame.partition_by(by, maintain_order=True)
    for number, its in enumerate(several):
        with places[number * columns // len(several)]:
            name = str(its[by][0])
            st.html(text.heading(name, level=3))
            words = f"{alt}: {name}"
            st.vega_lite_chart(_spec(draw, its, look()), theme=None, width="stretch", key=f"{key}_{number}", alt=words)
    say(caption)
    _figures(key, frame, alt, headings)


def _figures(key: str, frame: pl.DataFrame, alt: str, headings: Headings) -> None:
    """The figures of a picture; a column that `headings` leaves without words is only drawn."""
    written = [name for name in frame.columns if headings.get(name) != ONLY_DRAWN]
    own: dict[str, Any] = {name: words for name, words in headings.items() if words != ONLY_DRAWN}
    folded("Figures", f"{key}_figures", frame.select(written), alt=f"Figures: {alt}", **own)


def folded(label: str, key: str, frame: pl.DataFrame, /, *, alt: str, link: bool = False, **headings: str) -> None:
    """A table that is drawn when a person unfolds it; `label` as Markdown."""
    with st.expander(label, key=f"{key}{OPEN}", on_change="rerun") as fold:
        if fold.open:
            table(key, frame, alt=alt, link=link, **headings)


def table(key: str, frame: pl.DataFrame, *, alt: str, link: bool = True, **headings: str) -> None:
    """A table and its download, both of the same frame. With `link`, a click anywhere in a row opens the object."""
    short = frame.height <= theme.TABLE_ROWS
    options: dict[str, Any] = {"on_select": "rerun", "selection_mode": "single-cell"} if link else {}
    height: Literal["auto"] | int = "auto" if short else theme.TABLE_HEIGHT
    rows = _drawn(key, frame, headings, alt, height, **options)
    if link and rows:
        open_object(frame[filters.OBJECT][rows[0]])


def picked(key: str, frame: pl.DataFrame, *, alt: str, **headings: str) -> int | None:
    """A table in which a click chooses a row, and its download; the row chosen, None where none is.

    `key` carries what was chosen before: a choice among some rows is none among others.
    """
    chosen = _drawn(key, frame, headings, alt, "auto", on_select="rerun", selection_mode="single-cell")
    return chosen[0] if chosen else None


def rows(frame: pl.DataFrame) -> str:
    """Objects as lines of HTML, each a link; `frame` has object_id, title, place, heed, reasons."""
    lines = [
        (
            filters.address(PAGES_BY_FILE[OBJECT_PAGE].address, object_id=row["object_id"]),
            row["object_id"],
            row["title"] or "",
            row["place"] or "",
            ". ".join(words for words in (row["heed"], row["reasons"]) if words),
        )
        for row in frame.iter_rows(named=True)
    ]
    return text.rows(lines)


def ticked(key: str, frame: pl.DataFrame, *, alt: str) -> list[int]:
    """A table whose rows can be ticked, and its download; the rows ticked. Of other rows nothing is ticked yet."""
    options = {"on_select": "rerun", "selection_mode": "multi-row"}
    these = frame.hash_rows().sum()  # ticks are by place: kept, they would tick whatever stands there next
    return _drawn(key, frame, NO_HEADINGS, alt, theme.TABLE_HEIGHT, key=f"{key}_{these}", **options)


def open_object(object_id: str) -> None:
    """Go to the page of an object, filters in hand."""
    st.switch_page(OBJECT_PAGE, query_params=filters.query(object_id=object_id))


def link_to(object_id: str, title: str | None) -> None:
    """A link to the page of an object."""
    words = text.escaped(f"{object_id}  {title or ''}")
    st.page_link(OBJECT_PAGE, label=f"**{words}**", query_params=filters.query(object_id=object_id))


def as_of(state: data.Snapshot) -> str:
    """*as of 30 September 2026* for captions."""
    return f"as of {day_in_words(state.triage.as_of)}"


@st.cache_data(max_entries=SPECS, show_spinner=False, hash_funcs={FunctionType: attrgetter("__qualname__")})
def _spec(draw: Draw, frame: pl.DataFrame, tones: theme.Tones) -> dict[str, Any]:
    """The chart as Vega-Lite. Kept, because Altair takes longer to write it than the page takes for the rest."""
    written: dict[str, Any] = draw(frame, tones).to_dict(validate=False)  # each chart is validated in tests
    return {**written, "datasets": dict.fromkeys(written["datasets"], frame)}


def _drawn(
    name: str, frame: pl.DataFrame, headings: Headings, alt: str, height: Literal["auto"] | int, **options: Any
) -> list[int]:
    """The table and its download, both as shown; the rows chosen, none where nothing can be chosen."""
    shown = tables.shown(frame, **headings)
    event: Any = st.dataframe(
        shown,
        hide_index=True,
        placeholder="",
        alt=alt,
        height=height,
        column_config=_columns(shown, tables.widths(frame, **headings)),
        **{"key": name, **options},
    )
    _downloads(name, shown)
    if "on_select" not in options:
        return []
    return [*event.selection.rows, *(row for row, _ in event.selection.cells)]


def _downloads(name: str, shown: pl.DataFrame) -> None:
    """The table as a file for programs and one for spreadsheets, named after page and day."""
    words = (st.session_state.get(PAGE, ""), name, f"{data.state().triage.as_of:%Y-%m-%d}")
    csv, xlsx = (text.file_name(*words, ending=ending) for ending in ("csv", "xlsx"))
    book = partial(workbook, shown)  # made when asked for: every book bears the time of its making
    with st.container(horizontal=True):
        st.download_button(DOWNLOAD, tables.csv(shown), csv, CSV, key=f"{name}_csv", on_click="ignore")
        st.download_button(DOWNLOAD_BOOK, book, xlsx, XLSX, key=f"{name}_xlsx", on_click="ignore")


def _format(values: pl.Series) -> Literal["localized", "compact"]:
    """A column with thousands in it is written out, `3,200`; one of small figures keeps the digits that matter."""
    return "localized" if values.filter(values.abs() >= tables.MANY).len() else "compact"


def _columns(shown: pl.DataFrame, widths: Mapping[str, int]) -> dict[str, Any]:
    """Numbers with no decimal too many; texts as wide as `widths` says, by heading."""
    config: dict[str, Any] = {name: st.column_config.TextColumn(width=pixels) for name, pixels in widths.items()}
    for name, kind in shown.schema.items():
        if kind == pl.Float64:
            config[name] = st.column_config.NumberColumn(format=_format(shown[name]))
        if kind in (pl.Date, pl.Datetime):
            config[name] = st.column_config.DateColumn(format="YYYY-MM-DD")
    return config


def follow(task: Task, key: str, stopping: str = "Stopping; what is best so far stays") -> None:
    """Say how far it is until it is done; the page is drawn anew when there is something more to show.

    `stopping`: what is said once somebody asked it to stop.
    """
    st.session_state[f"{STEPS_SHOWN}_{key}"] = len(task.results)
    _progress(task, key, stopping)


@st.fragment(run_every=EVERY_S)
def _progress(task: Task, key: str, stopping: str) -> None:
    if task.done or len(task.results) > st.session_state.get(f"{STEPS_SHOWN}_{key}", 0):
        st.rerun()
    words = stopping if task.stopping else task.words or "Waiting for another plan"
    with st.container(horizontal=True, vertical_alignment="center"):
        say(f"{words}. {task.seconds:.0f} s so far.")
        st.button("Stop", key=f"stop_{key}", on_click=task.stop, disabled=task.stopping)
