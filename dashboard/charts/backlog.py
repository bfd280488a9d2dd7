"""Work that waits."""

from typing import Any

import altair as alt
import polars as pl

from collection.questions.work_ahead import BUDGETS
from dashboard import theme
from dashboard.charts import bars

HEIGHT = 300  # pixels
DASHES = ([2, 2], [1, 0], [6, 3])  # of the budgets, in their order


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
    return theme.drawn(alt.layer(band, line, height=HEIGHT, width="container"), look)


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
