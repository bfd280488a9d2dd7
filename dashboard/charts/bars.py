"""Bars with their words above them, so that a name is never cut on a phone."""

from typing import Any

import altair as alt
import polars as pl

from dashboard import theme

STEP, BAR, ABOVE = 44, 13, 10  # pixels: from bar to bar, thickness, words above the middle
AXIS, LEGEND = 48, 24  # pixels
PERCENT = "replace(datum.label, '%', ' %')"  # a label of an axis, its sign apart
LEAST = 0.0005  # objects' worth; below it nobody can tell


def line(frame: pl.DataFrame, name: str) -> alt.Y:
    """One line for each row, in the order of the frame."""
    order = frame[name].unique(maintain_order=True).to_list()
    return alt.Y(f"{name}:N", sort=order, axis=None, scale=alt.Scale(paddingInner=0.2, paddingOuter=0.35))


def words(base: alt.Chart, frame: pl.DataFrame, name: str, figure: str, look: theme.Tones) -> Any:
    """Words above each bar; `figure` is a Vega expression."""
    mark = base.transform_calculate(figure=figure).mark_text(align="left", baseline="bottom", dy=-ABOVE, color=look.ink)
    return mark.encode(y=line(frame, name), x=alt.value(0), text=alt.Text("figure:N"))


def number(field: str) -> str:
    """A Vega expression: two figures, or that it is less than anybody can tell."""
    least = f"datum['{field}'] > 0 ? '~0' : '0'"
    return f"(datum['{field}'] >= {LEAST} ? format(datum['{field}'], '.2~r') : {least})"


def counted(field: str) -> str:
    """A Vega expression: *1 object*, *2 objects*."""
    return f"format(datum['{field}'], ',') + (datum['{field}'] == 1 ? ' object' : ' objects')"


def across(field: str, title: str, look: theme.Tones) -> alt.X:
    """Length from zero, with its unit in the title."""
    axis = alt.Axis(tickCount=5, gridColor=look.line)
    return alt.X(f"{field}:Q", title=title, axis=axis, scale=alt.Scale(zero=True, nice=True))


def tall(rows: int, *layers: Any, legend: int = 0) -> Any:
    """Layers as one chart, as high as its rows, axis and `legend` lines need, as wide as there is room."""
    return alt.layer(*layers).properties(height=STEP * max(rows, 1) + AXIS + LEGEND * legend, width="container")
