"""Figures with their limits: what checks say of the rates and of forecasts, and what a survey says of all objects."""

from typing import Any

import altair as alt
import polars as pl

from dashboard import theme
from dashboard.charts import bars

ABOVE_AXIS = [1, 3, 10, 30, 100, 300, 1000]  # years
APART = 5  # pixels between the two ranges of a row
SQUARE = 360  # pixels
LEAST = 0.0001  # share of the collection's value; below it nobody can tell
HEIGHT = 240  # pixels


def rates_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Years to the next loss as ranges: the starting value above, what was learned below; schema RATE_ROWS.

    Years are multiplied, not added, so equal steps of the axis are equal factors; it is labelled in plain years.
    """
    base = alt.Chart(frame)
    starting = _range(base, frame, "starting_years", look.quiet, look, -APART)
    learned = _range(base, frame, "years", look.accent, look, APART)
    figure = "datum.what + ':  ' + datum.events + (datum.events == 1 ? ' loss in ' : ' losses in ')"
    figure += " + format(datum.exposure_years, ',.0f') + ' years'"
    words = bars.words(base, frame, "cell", figure, look)
    return theme.drawn(bars.tall(frame.height, *starting, *learned, words), look)


def _range(base: alt.Chart, frame: pl.DataFrame, name: str, tone: str, look: theme.Tones, down: int) -> list[Any]:
    """Short to long as a line, likely as a dot: a hollow one for the starting value."""
    axis = alt.Axis(values=ABOVE_AXIS, format=",d", gridColor=look.line)
    scale = alt.Scale(type="log", domain=[ABOVE_AXIS[0] / 3, ABOVE_AXIS[-1] * 3], clamp=True)
    across = alt.X(f"{name}_short:Q", title="years to the next loss [year]", axis=axis, scale=scale)
    row, middle = bars.line(frame, "cell"), alt.X(f"{name}_likely:Q", scale=scale)
    line = base.mark_rule(color=tone, strokeWidth=3, opacity=0.5, yOffset=down)
    dot = base.mark_point(
        color=tone, filled=down > 0, fill=tone if down > 0 else look.paper, size=70, opacity=1, yOffset=down
    )
    return [line.encode(y=row, x=across, x2=alt.X2(f"{name}_long:Q")), dot.encode(y=row, x=middle)]


def expected_and_seen_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Expected loss with its limits, and under it what the checks found; schema EXPECTED_SEEN."""
    base = alt.Chart(frame)
    across = alt.X(
        "lost_share:Q",
        title="lost over the years tested [% of the collection's value]",
        axis=alt.Axis(tickCount=4, format=".2~%", labelExpr=bars.PERCENT, gridColor=look.line),
        scale=alt.Scale(zero=True, nice=True),
    )
    bar = base.mark_bar(size=bars.BAR, color=look.unseen, stroke=look.accent, strokeWidth=1)
    limits = base.transform_filter("datum.lost_most > datum.lost_least").mark_rule(
        color=look.accent, strokeWidth=3, opacity=0.7
    )
    little = (
        f"datum.lost_share > 0 && datum.lost_share < {LEAST} ? 'under 0.01 %' : {_two_figures('lost_share')} + ' %'"
    )
    limits_words = f"' (' + {_two_figures('lost_least')} + ' to ' + {_two_figures('lost_most')} + ' %)'"
    figure = f"datum.label + ':  ' + ({little}) + (datum.lost_most > datum.lost_least ? {limits_words} : '')"
    drawn = [
        bar.encode(y=bars.line(frame, "label"), x=across),
        limits.encode(y=bars.line(frame, "label"), x=alt.X("lost_least:Q"), x2=alt.X2("lost_most:Q")),
        bars.words(base, frame, "label", figure, look),
    ]
    return theme.drawn(bars.tall(frame.height, *drawn), look)


def _two_figures(field: str) -> str:
    """A Vega expression: a share in per cent, two figures, no more zeros than needed."""
    return f"format(datum.{field} * 100, '.2~r')"


def calibration_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Chance that was forecast against the share in which it happened, with exact limits; schema GROUPS.

    On the broken line it happened as often as was forecast.
    """
    base = alt.Chart(frame)
    whole = alt.Scale(domain=[0, 1])
    axis = alt.Axis(format="%", labelExpr=bars.PERCENT, tickCount=5, gridColor=look.line)
    x = alt.X("mean_chance:Q", title="chance of a loss that was forecast [%]", scale=whole, axis=axis)
    happened = "share in which it happened [%]"
    y = alt.Y("share:Q", title=happened, scale=whole, axis=axis)
    kinds = [*dict.fromkeys(frame["by"])]
    legend = alt.Legend(columns=1)  # side by side the second is cut on a phone
    tones = alt.Scale(domain=kinds, range=[look.quiet, look.accent][: len(kinds)])
    shapes = alt.Scale(domain=kinds, range=["circle", "square"][: len(kinds)])
    tone, shape = alt.Color("by:N", scale=tones, legend=legend), alt.Shape("by:N", scale=shapes, legend=legend)
    even = base.mark_line(color=look.quiet, strokeDash=[4, 3], strokeWidth=1).encode(
        x=x, y=alt.Y("mean_chance:Q", title=happened)
    )
    limits = base.mark_rule(strokeWidth=2, opacity=0.6).encode(
        x=x, y=alt.Y("share_low:Q"), y2=alt.Y2("share_high:Q"), color=tone
    )
    points = base.mark_point(filled=True, size=80, opacity=1).encode(x=x, y=y, color=tone, shape=shape)
    return theme.drawn(alt.layer(even, limits, points, height=SQUARE, width="container"), look)


def shares_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Each share as a dot on the line of its limits, words above; `frame` has schema RESULTS, without empty values."""
    base = alt.Chart(frame)
    axis = alt.Axis(tickCount=5, format=".2~%", labelExpr=bars.PERCENT, gridColor=look.line)
    across = alt.X("value:Q", title="of all that could be drawn [%]", axis=axis, scale=alt.Scale(zero=True, nice=True))
    row = bars.line(frame, "measure")
    limits = base.mark_rule(color=look.accent, strokeWidth=3, opacity=0.6).encode(
        y=row, x=alt.X("low:Q"), x2=alt.X2("high:Q")
    )
    dots = base.mark_point(color=look.accent, filled=True, size=80, opacity=1).encode(y=row, x=across)
    share = "format(datum.{} * 100, '.2~r')"
    apart = f"' (' + {share.format('low')} + ' to ' + {share.format('high')} + ' %)'"
    figure = f"datum.measure + ':  ' + {share.format('value')} + ' %' + (datum.high > datum.low ? {apart} : '')"
    return theme.drawn(bars.tall(frame.height, limits, dots, bars.words(base, frame, "measure", figure, look)), look)


def margins_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Margin either way against the number checked; `frame` has schema MARGINS."""
    base = alt.Chart(frame)
    across = alt.X("size:Q", title="checked [objects]", axis=alt.Axis(tickCount=5, gridColor=look.line))
    axis = alt.Axis(tickCount=4, format=".2~%", labelExpr=bars.PERCENT, gridColor=look.line)
    up = alt.Y("margin:Q", title="margin, either way [%]", axis=axis, scale=alt.Scale(domain=[0, 0.5], clamp=True))
    tip = [alt.Tooltip("size:Q", title="Checked"), alt.Tooltip("margin:Q", title="Margin", format=".1~%")]
    line = base.mark_line(color=look.accent, strokeWidth=2, point={"size": 40, "color": look.accent})
    drawn = line.encode(x=across, y=up, tooltip=tip).properties(height=HEIGHT, width="container")
    return theme.drawn(drawn, look)
