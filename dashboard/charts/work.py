"""Work: what plans of other budgets would prevent, what of the money and hours is used, and what waits."""

from typing import Any

import altair as alt
import polars as pl

from collection.questions.plan_tables import WAYS
from collection.questions.work_ahead import BUDGETS
from dashboard import theme
from dashboard.charts import bars

BUDGETS_HEIGHT = 280  # pixels
UNITS = {"prevented_percent": "% of the collection's value", "prevented_money": "insured value"}
AHEAD_HEIGHT = 300  # pixels
DASHES = ([2, 2], [1, 0], [6, 3])  # of the budgets, in their order


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
    return theme.drawn(alt.layer(here, lines, points, height=BUDGETS_HEIGHT, width="container"), look)


def use_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """What of the money and hours of each year is used; the outline is all there is. `frame` has schema USE_SHARES."""
    base = alt.Chart(frame)
    axis = alt.Axis(tickCount=5, format="%", labelExpr=bars.PERCENT, gridColor=look.line)
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


def backlog_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Hours by class, likely as a dot, low to high as a line; `frame` has schema `backlog.BACKLOG`."""
    base = alt.Chart(frame)
    title = "hours of proposals, low to high, likely [h]"
    span = base.mark_rule(color=look.accent, strokeWidth=3, opacity=0.45).encode(
        y=bars.line(frame, "label"), x=bars.across("hours_low", title, look), x2=alt.X2("hours_high:Q")
    )
    likely = base.mark_point(color=look.accent, filled=True, size=90, opacity=1).encode(
        y=bars.line(frame, "label"), x=alt.X("hours_likely:Q")
    )
    hours = "isValid(datum.hours_likely) ? format(datum.hours_likely, '.0f') + ' h (' + format(datum.hours_low, '.0f')"
    hours += " + ' to ' + format(datum.hours_high, '.0f') + '), ' : datum.objects > 0 ? 'no hours, ' : ''"
    figure = f"datum.label + ':  ' + ({hours}) + {bars.counted('objects')}"
    figure += " + (datum.no_hours > 0 ? ', ' + datum.no_hours + ' without hours' : '')"
    return theme.drawn(bars.tall(frame.height, span, likely, bars.words(base, frame, "label", figure, look)), look)


def ahead_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Hours waiting at the end of each year under three budgets, with their limits; schema `work_ahead.AHEAD`."""
    base, names = alt.Chart(frame), list(BUDGETS)
    whole = alt.Axis(format="d", tickMinStep=1, gridColor=look.line)
    x = alt.X("year:Q", title="end of the year [year]", axis=whole, scale=alt.Scale(zero=False, nice=False))
    tones, legend = (
        [look.alarm, look.accent, look.quiet],
        alt.Legend(columns=1, symbolType="stroke", symbolOpacity=1, symbolStrokeWidth=3, symbolSize=300),
    )
    tone = alt.Color("budget:N", scale=alt.Scale(domain=names, range=tones), legend=legend)
    dash = alt.StrokeDash("budget:N", scale=alt.Scale(domain=names, range=list(DASHES)), legend=legend)
    hours = "work waiting [h]"
    y = alt.Y("waiting:Q", title=hours, axis=alt.Axis(tickCount=5, format=",.0f", gridColor=look.line))
    band = base.mark_area(opacity=0.15).encode(x=x, y=alt.Y("low:Q", title=hours), y2=alt.Y2("high:Q"), color=tone)
    line = base.mark_line(strokeWidth=2.5).encode(x=x, y=y, color=tone, strokeDash=dash)
    return theme.drawn(alt.layer(band, line, height=AHEAD_HEIGHT, width="container"), look)


def past_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Hours of the treatments finished in each year; `frame` has schema `work_ahead.PAST`."""
    base = alt.Chart(frame)
    figure = "datum.year + ':  ' + format(datum.hours, ',.0f') + ' h in ' + datum.treatments"
    figure += " + (datum.treatments == 1 ? ' treatment' : ' treatments')"
    figure += " + (datum.decided > 0 ? ', ' + datum.decided + ' decided to be treated' : '')"
    bar = base.mark_bar(size=bars.BAR, color=look.accent).encode(
        y=bars.line(frame, "year"), x=bars.across("hours", "worked on treatments finished in the year [h]", look)
    )
    return theme.drawn(bars.tall(frame.height, bar, bars.words(base, frame, "year", figure, look)), look)
