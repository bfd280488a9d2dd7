"""What a page sends to the browser to be drawn, against the bytes that its downloads would save."""

import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl
from polars.testing import assert_frame_equal

from dashboard import theme

FIGURES = "_figures"
TWO_FIGURES = 0.05  # of a number, the most by which two figures of it differ from it


@dataclass(frozen=True)
class Sight:
    """A page with everything unfolded: frames as sent to the browser, by key, beside what the browser would save."""

    answer: str
    sentence: str
    widgets: Mapping[str, Any]
    sent: Mapping[str, pl.DataFrame]
    drawn: Mapping[str, pl.DataFrame]
    saved: Mapping[str, bytes]


def check_saved(page: Sight) -> None:
    """Each table, and each picture by the table of its figures, against the bytes that are saved."""
    assert page.sent.keys() == page.saved.keys()
    assert {k for k in page.sent if k.endswith(FIGURES)} == page.drawn.keys() != set()
    assert all(frame.height for frame in (*page.sent.values(), *page.drawn.values()))
    for key, frame in page.sent.items():
        assert_frame_equal(_parsed(page.saved[key], frame.schema), frame, check_exact=True)
    for key, frame in page.drawn.items():
        saved = pl.read_csv(page.saved[key], infer_schema=False)
        assert saved.height == frame.height
        assert _not_drawn(saved, _with_shapes(frame)) == []


def _not_drawn(saved: pl.DataFrame, drawn: pl.DataFrame) -> list[str]:
    """Headings of what is saved and was not drawn: each column is one of those drawn, in their order; figures as they
    are or in per cent, with two figures of them.
    """
    left = iter(drawn.get_columns())
    return [column.name for column in saved.get_columns() if not any(_alike_in(column, its) for its in left)]


def _alike_in(saved: pl.Series, drawn: pl.Series) -> bool:
    if drawn.dtype != pl.Float64:
        return saved.to_frame().select(_typed(pl.col(saved.name), drawn.dtype, strict=False)).to_series().equals(drawn)
    read = saved.cast(pl.Float64, strict=False)
    of_both = [((read - drawn * times).abs() <= TWO_FIGURES * (drawn * times).abs()).all() for times in (1, 100)]
    return bool((read.is_null() == drawn.is_null()).all()) and any(of_both)


def _with_shapes(frame: pl.DataFrame) -> pl.DataFrame:
    """A class of attention is saved with its shape in front; a picture has words and shape apart."""
    if not {"attention", "label"} <= set(frame.columns):
        return frame
    marked = pl.Series("label", [theme.marked(term) for term in frame["attention"]])
    assert marked.str.ends_with(frame["label"]).all()
    return frame.with_columns(marked)


def _parsed(data: bytes, schema: Mapping[str, Any]) -> pl.DataFrame:
    """A CSV as the types it was made of, without the `'` that stops a spreadsheet."""
    read = pl.read_csv(data, infer_schema=False)
    assert read.columns == list(schema)
    return read.select(_typed(pl.col(name), kind) for name, kind in schema.items())


def _typed(text: pl.Expr, kind: Any, *, strict: bool = True) -> pl.Expr:
    if kind == pl.String:
        return text.str.replace("^'(.*)", "$1")
    return text.str.to_date("%Y-%m-%d", strict=strict) if kind == pl.Date else text.cast(kind, strict=strict)


def alike(one: Sight, other: Sight) -> bool:
    return (one.answer, one.sentence, one.saved) == (other.answer, other.sentence, other.saved)


def frame_in(message: Any) -> pl.DataFrame:
    """The frame in a message; Streamlit makes a day midnight."""
    frame = pl.read_ipc_stream(io.BytesIO(message.data))
    return frame.with_columns(pl.col(pl.Datetime("ms")).cast(pl.Date))


def by_figures(heights: Mapping[str, int], charts: list[pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """What was drawn, by the table of its figures: one table may tell of several small charts, in their order."""
    left, drawn = iter(charts), {}
    for key, height in heights.items():
        frames = [next(left)]
        while sum(frame.height for frame in frames) < height:
            frames.append(next(left))
        drawn[key] = pl.concat(frames)
    assert next(left, None) is None
    return drawn
