"""What happened to one object."""

from typing import Any

import altair as alt
import polars as pl

from collection.questions.history import ACT, CHANGING, GONE, STILL
from dashboard import theme
from dashboard.charts import bars


def history_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Events in lanes on a time axis; `frame` has schema `history.EVENTS`. Changing: own shape and tone."""
    base = alt.Chart(frame)
    when = alt.X("on:T", title="day [date]", axis=alt.Axis(tickCount=5, gridColor=look.line, labelOverlap=True))
    span = base.mark_rule(color=look.quiet, strokeWidth=2).encode(
        y=bars.line(frame, "lane"), x=when, x2=alt.X2("until:T")
    )
    marks, legend = [STILL, CHANGING, GONE, ACT], alt.Legend(symbolStrokeWidth=0)  # a rim would tint what it matches
    shapes = alt.Scale(domain=marks, range=["circle", "triangle-up", "triangle-down", "square"])
    tones = alt.Scale(domain=marks, range=[look.accent, look.alarm, look.warm, look.quiet])
    event = base.mark_point(filled=True, size=70, opacity=0.9).encode(
        y=bars.line(frame, "lane"),
        x=when,
        shape=alt.Shape("mark:N", scale=shapes, legend=legend),
        color=alt.Color("mark:N", scale=tones, legend=legend),
        tooltip=[
            alt.Tooltip("on:T", title="Day", format="%Y-%m-%d"),
            alt.Tooltip("lane:N", title="Of"),
            alt.Tooltip("what:N", title="What"),
            alt.Tooltip("state:N", title="State"),
        ],
    )
    lanes = base.transform_aggregate(count="count()", groupby=["lane"])
    named = lanes.mark_text(align="left", baseline="bottom", dy=-bars.ABOVE + 2, color=look.ink).encode(
        y=bars.line(frame, "lane"), x=alt.value(0), text=alt.Text("lane:N")
    )
    chart = bars.tall(frame["lane"].n_unique(), span, event, named, legend=1)
    return theme.drawn(chart, look)
