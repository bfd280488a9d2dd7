"""The air of a place by month beside what is needed, and time inside what is needed."""

from typing import Any

import altair as alt
import polars as pl

from collection.questions.air_of_place import FAULTY, MONTH, NEEDED
from dashboard import theme
from dashboard.charts import bars

HEIGHT = 220  # pixels
TITLES = {"rh_percent": "relative humidity [%]", "temperature_c": "temperature [°C]"}


def air_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """The middle of each month and between what nine tenths of its hours lay; `frame` has schema AIR_PICTURE, of one
    quantity. What is needed is a band behind it, what a failing logger wrote is drawn grey and counts nowhere.
    """
    base = alt.Chart(frame)
    quantity = frame["quantity"][0] if frame.height else ""
    when = alt.X("starts:T", title="month [date]", axis=alt.Axis(tickCount=6, gridColor=look.line, labelOverlap=True))
    scale, axis = alt.Scale(zero=False, nice=True), alt.Axis(tickCount=5, gridColor=look.line)
    up = alt.Y("low:Q", title=TITLES.get(quantity, "air [%]"), scale=scale, axis=axis)
    months = _of(base, MONTH)
    spread = months.mark_area(color=look.warm, opacity=0.30, interpolate="step-after", aria=False).encode(
        x=when, y=up, y2=alt.Y2("high:Q")
    )
    middle = months.mark_line(color=look.warm, interpolate="step-after", strokeWidth=1.5).encode(
        x=when, y=alt.Y("middle:Q", scale=scale), tooltip=_when("middle")
    )
    layers = alt.layer(*_behind(base, when, up, look), spread, middle, height=HEIGHT, width="container")
    return theme.drawn(layers, look)


def _behind(base: alt.Chart, when: alt.X, up: alt.Y, look: theme.Tones) -> list[Any]:
    """What stands behind the months: where the logger failed, and what is needed with its edges."""
    faulty = _of(base, FAULTY).mark_rect(color=look.quiet, opacity=0.35, aria=False)
    needed = _of(base, NEEDED)
    band = needed.mark_rect(color=look.accent, opacity=0.10, aria=False)
    edge = needed.mark_rule(color=look.accent, strokeDash=[5, 3], aria=False)
    scale = alt.Scale(zero=False, nice=True)
    return [
        faulty.encode(x=when, x2=alt.X2("ends:T"), tooltip=_when("words")),
        band.encode(x=when, x2=alt.X2("ends:T"), y=up, y2=alt.Y2("high:Q")),
        *(edge.encode(x=when, x2=alt.X2("ends:T"), y=alt.Y(f"{end}:Q", scale=scale)) for end in ("low", "high")),
    ]


def _of(base: alt.Chart, shown: str) -> Any:
    return base.transform_filter(alt.FieldEqualPredicate(field="shown", equal=shown))


def _when(value: str) -> list[alt.Tooltip]:
    last = (
        alt.Tooltip(f"{value}:N", title="Fault")
        if value == "words"
        else alt.Tooltip("middle:Q", title="Middle", format=".1f")
    )
    return [
        alt.Tooltip("starts:T", title="From", format="%Y-%m-%d"),
        alt.Tooltip("ends:T", title="To", format="%Y-%m-%d"),
        last,
    ]


def needs_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Share of time inside each target; `frame` has schema NEEDS, of targets that were measured."""
    base = alt.Chart(frame)
    axis = alt.Axis(tickCount=5, format="%", labelExpr=bars.PERCENT, gridColor=look.line)
    length = alt.X("inside:Q", title="time inside what is needed [%]", axis=axis, scale=alt.Scale(domain=[0, 1]))
    drawn = base.mark_bar(size=bars.BAR, color=look.accent).encode(
        y=bars.line(frame, "target_id"),
        x=length,
        tooltip=[
            alt.Tooltip("needs:N", title="Needed"),
            alt.Tooltip("reason:N", title="Why"),
            alt.Tooltip("below:Q", title="Below", format=".0%"),
            alt.Tooltip("above:Q", title="Above", format=".0%"),
            alt.Tooltip("swing:Q", title="Too wide a swing", format=".0%"),
            alt.Tooltip("days:Q", title="Days measured"),
        ],
    )
    nearly = "datum.inside < 1 && datum.inside >= 0.995"
    share = f"({nearly} ? 'over 99 %' : replace(format(datum.inside, '.0%'), '%', ' %'))"
    figure = f"datum.target_id + ', ' + {bars.counted('objects')} + ':  ' + {share}"
    return theme.drawn(
        bars.tall(frame.height, drawn, bars.words(base, frame, "target_id", figure, look), legend=1), look
    )
