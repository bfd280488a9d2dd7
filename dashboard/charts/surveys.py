"""A survey: shares with their limits; the margin of a share by how many are looked at."""

from typing import Any

import altair as alt
import polars as pl

from dashboard import theme
from dashboard.charts import bars
from dashboard.charts.learning import PERCENT

HEIGHT = 240  # pixels


def shares_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Each share as a dot on the line of its limits, words above; `frame` has schema RESULTS, without empty values."""
    base = alt.Chart(frame)
    axis = alt.Axis(tickCount=5, format=".2~%", labelExpr=PERCENT, gridColor=look.line)
    across = alt.X("value:Q", title="of all that could be drawn [%]", axis=axis, scale=alt.Scale(zero=True, nice=True))
    row = bars.line(frame, "measure")
    limits = base.mark_rule(color=look.accent, strokeWidth=3, opacity=0.6).encode(
        y=row, x=alt.X("low:Q"), x2=alt.X2("high:Q")
    )
    dots = base.mark_point(color=look.accent, filled=True, size=80, opacity=1).encode(y=row, x=across)
    share = "format(datum.{} * 100, '.3~r')"
    apart = f"' (' + {share.format('low')} + ' to ' + {share.format('high')} + ' %)'"
    figure = f"datum.measure + ':  ' + {share.format('value')} + ' %' + (datum.high > datum.low ? {apart} : '')"
    return theme.drawn(bars.tall(frame.height, limits, dots, bars.words(base, frame, "measure", figure, look)), look)


def margins_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Margin either way against the number looked at; `frame` has schema MARGINS."""
    base = alt.Chart(frame)
    across = alt.X("size:Q", title="looked at [objects]", axis=alt.Axis(tickCount=5, gridColor=look.line))
    axis = alt.Axis(tickCount=4, format=".2~%", labelExpr=PERCENT, gridColor=look.line)
    up = alt.Y("margin:Q", title="margin, either way [%]", axis=axis, scale=alt.Scale(domain=[0, 0.5], clamp=True))
    tip = [alt.Tooltip("size:Q", title="Looked at"), alt.Tooltip("margin:Q", title="Margin", format=".1~%")]
    line = base.mark_line(color=look.accent, strokeWidth=2, point={"size": 40, "color": look.accent})
    drawn = line.encode(x=across, y=up, tooltip=tip).properties(height=HEIGHT, width="container")
    return theme.drawn(drawn, look)
