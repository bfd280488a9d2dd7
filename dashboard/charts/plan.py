"""A plan: what other budgets would prevent; what of the money and hours is used."""

from typing import Any

import altair as alt
import polars as pl

from collection.questions.plan_tables import WAYS
from dashboard import theme
from dashboard.charts import bars

HEIGHT = 280  # pixels
UNITS = {"prevented_percent": "% of the collection's value", "prevented_money": "insured value"}


def budgets_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """What each budget prevents by the best plan and by both rules of thumb; `frame` has schema BUDGETS with what is
    prevented in the unit a person reads. The budget of the plan is marked by an upright line.
    """
    base = alt.Chart(frame)
    column = next(name for name in UNITS if name in frame.columns)
    ways = list(WAYS.values())
    money = alt.Axis(tickCount=4, format=",.0f", gridColor=look.line)
    axis = alt.Axis(tickCount=4, gridColor=look.line)
    x = alt.X("money:Q", title="money of all years together [amount]", axis=money)
    y = alt.Y(f"{column}:Q", title=f"prevented [{UNITS[column]}]", axis=axis, scale=alt.Scale(zero=True))
    legend = alt.Legend(columns=1, symbolStrokeWidth=0)
    tone = alt.Color("way:N", scale=alt.Scale(domain=ways, range=[look.accent, look.warm, look.quiet]), legend=legend)
    shape = alt.Shape("way:N", scale=alt.Scale(domain=ways, range=["circle", "square", "triangle-up"]), legend=legend)
    dash = alt.StrokeDash("way:N", scale=alt.Scale(domain=ways, range=[[1, 0], [6, 3], [2, 2]]), legend=None)
    here = base.transform_filter("datum.asked").mark_rule(color=look.ink, strokeWidth=1).encode(x=x)
    lines = base.mark_line(strokeWidth=2).encode(x=x, y=y, color=tone, strokeDash=dash)
    tip = [alt.Tooltip("way:N", title="Way"), alt.Tooltip("money:Q", title="Money", format=",.0f"),
           alt.Tooltip(f"{column}:Q", title="Prevented", format=".2~r")]  # fmt: skip
    points = base.mark_point(size=60, filled=True, opacity=1).encode(x=x, y=y, color=tone, shape=shape, tooltip=tip)
    return theme.drawn(alt.layer(here, lines, points, height=HEIGHT, width="container"), look)


def use_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """What of the money and hours of each year is used; the outline is all there is. `frame` has schema USE_SHARES."""
    base = alt.Chart(frame)
    axis = alt.Axis(tickCount=5, format="%", labelExpr="replace(datum.label, '%', ' %')", gridColor=look.line)
    across = alt.X("share:Q", title="used, of what there is [%]", axis=axis, scale=alt.Scale(domain=[0, 1]))
    whole = base.transform_calculate(whole="1").mark_bar(
        size=bars.BAR, color=look.panel, stroke=look.quiet, strokeWidth=1
    )
    used = base.mark_bar(size=bars.BAR, color=look.accent)
    return theme.drawn(
        bars.tall(
            frame.height,
            whole.encode(y=bars.line(frame, "line"), x=alt.X("whole:Q", title=None)),
            used.encode(y=bars.line(frame, "line"), x=across),
            bars.words(base, frame, "line", "datum.line + ':  ' + datum.figure", look),
        ),
        look,
    )
