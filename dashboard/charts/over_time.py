"""What happened over the years: to grades, damage and repairs of all that is checked, and to one object."""

from datetime import date
from typing import Any

import altair as alt
import polars as pl

from collection.questions.damage_over_time import LIKE_OTHERS, STANDS_OUT
from collection.questions.grades_over_time import ALIKE, BETTER, MILDER, SAME, STRICTER, WORSE, YARDSTICK
from collection.questions.history import ACT, CHANGING, GONE, STILL
from collection.questions.stories_over_time import CLIMATE_LANE, DAMAGE_LANE, PLACE_LANE
from collection.trends.growth_of_one import GROWN, LARGER, PERHAPS, SAYINGS
from collection.trends.growth_of_one import SAME as NO_CHANGE
from dashboard import theme
from dashboard.charts import bars

CELL, HEAD, LOW_HEIGHT, AXIS_HEIGHT, CURVE_HEIGHT = 34, 90, 170, 230, 260  # pixels
# In the order of SAYINGS.
SHAPES = ("square", "circle", "diamond", "diamond", "triangle-up", "triangle-down", "triangle-right", "triangle-left",
          "cross", "wedge")  # fmt: skip
PLOT, LEGEND_LINE = 190, 16  # pixels: what is drawn with its axis, and a line of what is above it
# How a day is written on an axis of at most so many days.
DAYS_WRITTEN = {120: "%-d %b %Y", 1200: "%b %Y", float("inf"): "%Y"}
WAYS = {WORSE: "\u2193", SAME: "=", BETTER: "\u2191"}  # beside the number of each cell
LANES = {DAMAGE_LANE: 2.5, PLACE_LANE: 1.5, CLIMATE_LANE: 0.0}  # where each lies, up from the axis
NAMES = {DAMAGE_LANE: 2.95, PLACE_LANE: 1.95, CLIMATE_LANE: 1.15}  # and where its name does


def moves_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Objects by grade then and now, number and direction in each cell; `frame` has schema GRADE_MOVES."""
    base = alt.Chart(frame)
    order = frame["grade_then"].unique(maintain_order=True).to_list()
    across = alt.Axis(orient="top", labelAngle=-30, labelLimit=130, ticks=False, domain=False)
    down = alt.Axis(labelLimit=130, ticks=False, domain=False, titleAngle=0, titleAlign="left", titleX=-100, titleY=-8)
    y = alt.Y("grade_then:N", sort=order, title="graded then", axis=down)
    x = alt.X("grade_now:N", sort=order, title="graded now", axis=across)
    share = base.transform_calculate(part="datum.of > 0 ? datum.objects / datum.of : 0")
    tone = alt.Scale(domain=[0, 1], range=[look.paper, look.unseen], interpolate="rgb")
    cells = share.mark_rect(stroke=look.line).encode(x=x, y=y, color=alt.Color("part:Q", scale=tone, legend=None))
    signs = f"{{{', '.join(f'{name!r}: {sign!r}' for name, sign in WAYS.items())}}}"
    figure = f"datum.objects > 0 ? datum.objects + ' ' + {signs}[datum.direction] : '0'"
    numbers = (
        base.transform_calculate(figure=figure).mark_text(color=look.ink).encode(x=x, y=y, text=alt.Text("figure:N"))
    )
    height = CELL * max(len(order), 1) + HEAD
    return theme.drawn(alt.layer(cells, numbers, height=height, width="container"), look)


def examiners_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Strictness of each examiner with its limits, 0 the yardstick's; `frame` has schema EXAMINERS."""
    base = alt.Chart(frame)
    title = "grades worse than the yardstick [grades]"
    across = alt.X("strictness:Q", title=title, axis=alt.Axis(tickCount=5, gridColor=look.line))
    row = bars.line(frame, "examiner")
    limits = base.mark_rule(color=look.accent, strokeWidth=3, opacity=0.5, aria=False).encode(
        y=row, x=alt.X("strictness_low:Q"), x2=alt.X2("strictness_high:Q")
    )
    kinds = [STRICTER, MILDER, ALIKE, YARDSTICK]
    legend, marks = alt.Legend(symbolStrokeWidth=0), ["triangle-right", "triangle-left", "circle", "square"]
    shape = alt.Shape("what:N", scale=alt.Scale(domain=kinds, range=marks), legend=legend)
    tones = alt.Scale(domain=kinds, range=[look.alarm, look.warm, look.accent, look.quiet])
    tone = alt.Color("what:N", scale=tones, legend=legend)
    points = base.mark_point(filled=True, size=90, opacity=1).encode(y=row, x=across, shape=shape, color=tone)
    zero = base.mark_rule(color=look.quiet, strokeDash=[4, 3], aria=False).encode(x=alt.datum(0))
    limits_words = "format(datum.strictness_low, '+.2f') + ' to ' + format(datum.strictness_high, '+.2f')"
    strict = f"format(datum.strictness, '+.2f') + ' (' + {limits_words} + ')'"
    figure = f"datum.what == '{YARDSTICK}' ? '{YARDSTICK}' : {strict}"
    figure = f"datum.examiner + ':  ' + ({figure}) + ', ' + format(datum.grades, ',') + ' grades'"
    words = bars.words(base, frame, "examiner", figure, look)
    return theme.drawn(bars.tall(frame.height, zero, limits, points, words, legend=2), look)


def forest_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Events per 100 years of each group with exact limits, most first; `frame` has schema RATES."""
    base = alt.Chart(frame)
    row = bars.line(frame, "group")
    limits = base.mark_rule(color=look.accent, strokeWidth=3, opacity=0.5, clip=True, aria=False).encode(
        y=row, x=bars.across("rate_low", "events per 100 years watched [1/100 years]", look), x2=alt.X2("rate_high:Q")
    )
    points = base.mark_point(color=look.accent, filled=True, size=80, opacity=1).encode(y=row, x=alt.X("rate:Q"))
    limits_words = "format(datum.rate_low, '.2~r') + ' to ' + format(datum.rate_high, '.2~r')"
    figure = f"datum.group + ':  ' + format(datum.rate, '.2~r') + ' (' + {limits_words} + ')'"
    figure += " + ', ' + datum.happened + ' in ' + format(datum.years, ',.0f') + ' years'"
    words = bars.words(base, frame, "group", figure, look)
    return theme.drawn(bars.tall(frame.height, limits, points, words), look)


def room_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """New and newly moving damage of one room by year with limits; `frame` has schema ROOM_YEARS, of one room.

    All rooms have one scale; a limit beyond it is cut at its edge.
    """
    base = alt.Chart(frame)
    top = frame["scale_to"].max()
    scale = alt.Scale(domain=[0, float(top) * 3 / 2 if isinstance(top, float) and top > 0 else 1.0], nice=True)
    x = alt.X("year:O", title="checked in [year]", axis=alt.Axis(labelAngle=0, labelOverlap=True))
    y = alt.Y("rate:Q", title="per 100 object-years", scale=scale, axis=alt.Axis(tickCount=3, gridColor=look.line))
    line = base.mark_rule(color=look.accent, strokeWidth=2, opacity=0.5, clip=True, aria=False)
    limits = line.encode(x=x, y=alt.Y("rate_low:Q", title="per 100 object-years"), y2=alt.Y2("rate_high:Q"))
    marks = [LIKE_OTHERS, STANDS_OUT]
    shape = alt.Shape("mark:N", scale=alt.Scale(domain=marks, range=["circle", "triangle-up"]), legend=None)
    tone = alt.Color("mark:N", scale=alt.Scale(domain=marks, range=[look.accent, look.alarm]), legend=None)
    points = base.mark_point(filled=True, size=70, opacity=1, clip=True).encode(x=x, y=y, shape=shape, color=tone)
    out = base.transform_filter(f"datum.mark == '{STANDS_OUT}'")
    named = out.transform_calculate(words="datum.happened + ' new: ' + datum.mark")
    words = named.mark_text(dy=-12, align="right", dx=6, color=look.ink).encode(
        x=x, y=alt.Y("rate:Q"), text=alt.Text("words:N")
    )
    return theme.drawn(alt.layer(limits, points, words, height=LOW_HEIGHT, width="container"), look)


def axis_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Damage, faults of the place and hours beyond limits of one room on one axis; `frame` has schema AXIS."""
    x = alt.X("on:T", title="month [date]", axis=alt.Axis(tickCount=6, gridColor=look.line, labelOverlap=True))
    tip = [alt.Tooltip("on:T", title="From", format="%Y-%m-%d"), alt.Tooltip("what:N", title="What")]
    air = _lane(frame, CLIMATE_LANE).mark_rect(color=look.warm, opacity=0.6)
    spans = _lane(frame, PLACE_LANE).mark_rule(color=look.quiet, strokeWidth=4, aria=False)
    faults = _lane(frame, PLACE_LANE).mark_text(align="left", dy=-9, color=look.ink)
    dots = _lane(frame, DAMAGE_LANE).mark_point(color=look.accent, filled=True, opacity=0.85)
    several = _lane(frame, DAMAGE_LANE).transform_filter("datum.happened > 2").mark_text(dy=-15, color=look.ink)
    size = alt.Size("happened:Q", scale=alt.Scale(range=[20, 320]), legend=None)
    drawn = [
        air.encode(x=x, x2=alt.X2("until:T"), y=_up("share"), y2=alt.datum(0), tooltip=tip),
        spans.encode(x=x, x2=alt.X2("until:T"), y=_up("at"), tooltip=tip),
        faults.encode(x=x, y=_up("at"), text=alt.Text("what:N")),
        dots.encode(x=x, y=_up("at"), size=size, tooltip=tip),
        several.encode(x=x, y=_up("at"), text=alt.Text("happened:Q")),
        *(_lane_name(frame, lane, look) for lane in LANES),
    ]
    return theme.drawn(alt.layer(*drawn, height=AXIS_HEIGHT, width="container"), look)


def _lane(frame: pl.DataFrame, lane: str) -> alt.Chart:
    """Rows of one lane, with where it lies."""
    return alt.Chart(frame).transform_filter(f"datum.lane == '{lane}'").transform_calculate(at=f"{LANES[lane]}")


def _up(field: str) -> alt.Y:
    return alt.Y(f"{field}:Q", scale=alt.Scale(domain=[0, 3]), axis=None)


def _lane_name(frame: pl.DataFrame, lane: str, look: theme.Tones) -> Any:
    """The name of a lane at its left, above what is drawn in it."""
    once = _lane(frame, lane).transform_aggregate(count="count()", groupby=["lane"])
    named = once.transform_calculate(at=f"{NAMES[lane]}").mark_text(align="left", color=look.quiet)
    return named.encode(x=alt.value(0), y=_up("at"), text=alt.Text("lane:N"))


def curve_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Share of repairs that lasts at each age: steps, a smooth curve with its band; schema CURVES, of one group."""
    base = alt.Chart(frame)
    x = alt.X("age_years:Q", title="age [year]", axis=alt.Axis(tickMinStep=1, gridColor=look.line))
    axis = alt.Axis(format="%", labelExpr=bars.PERCENT, tickCount=3, gridColor=look.line)
    y = alt.Y("lasting:Q", title="share that lasts [%]", scale=alt.Scale(domain=[0, 1]), axis=axis)
    band = base.mark_area(color=look.accent, opacity=0.15).encode(
        x=x, y=alt.Y("lasting_low:Q"), y2=alt.Y2("lasting_high:Q")
    )
    smooth = base.mark_line(color=look.quiet, strokeDash=[4, 3]).encode(x=x, y=alt.Y("smooth:Q"))
    line = base.mark_line(
        color=look.accent, strokeWidth=2.5, interpolate="step-after", invalid="break-paths-show-domains"
    )
    few = base.mark_text(dy=-6, baseline="bottom", color=look.quiet, fontSize=11)
    steps, seen = line.encode(x=x, y=y), few.encode(x=x, y=alt.datum(0), text=alt.Text("observed:Q"))
    return theme.drawn(alt.layer(band, smooth, steps, seen, height=CURVE_HEIGHT, width="container"), look)


def growth_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Size of one damage against time with its limits, and what each measurement says; schema GROWTHS, of one."""
    base = alt.Chart(frame)
    days = _days(frame["seen_on"], look)
    x = alt.X("seen_on:T", title="checked on [date]", axis=days)
    unit = frame["size_unit"][0] if frame.height else "size [mm]"
    y = alt.Y("size:Q", title=unit, axis=alt.Axis(tickCount=4, gridColor=look.line), scale=alt.Scale(zero=True))
    line = base.mark_line(color=look.quiet, strokeWidth=1).encode(x=x, y=y, detail=alt.Detail("series:N"))
    limits = base.mark_rule(color=look.accent, strokeWidth=2, opacity=0.6, aria=False).encode(
        x=x, y=alt.Y("size_low:Q", title=unit), y2=alt.Y2("size_high:Q")
    )
    kinds = [what for what in SAYINGS if what in frame["what"].to_list()]
    shown = {what: (SHAPES[number], _tone(what, look)) for number, what in enumerate(SAYINGS)}
    legend = alt.Legend(columns=1, symbolStrokeWidth=0)
    shapes, tones = (alt.Scale(domain=kinds, range=[shown[what][n] for what in kinds]) for n in (0, 1))
    shape, tone = alt.Shape("what:N", scale=shapes, legend=legend), alt.Color("what:N", scale=tones, legend=legend)
    tip = [alt.Tooltip("seen_on:T", title="Day", format="%Y-%m-%d"), alt.Tooltip("size:Q", title="Size", format=".3~r"),
           alt.Tooltip("what:N", title="What")]  # fmt: skip
    points = base.mark_point(filled=True, size=80, opacity=1).encode(x=x, y=y, shape=shape, color=tone, tooltip=tip)
    height = PLOT + LEGEND_LINE * len(kinds)
    return theme.drawn(alt.layer(line, limits, points, height=height, width="container"), look)


def _days(days: pl.Series, look: theme.Tones) -> alt.Axis:
    """An axis of days on which each label can be told without the others: years, months with theirs, days."""
    first, last = days.min(), days.max()
    span = (last - first).days if isinstance(first, date) and isinstance(last, date) else 0
    written = next(words for most, words in DAYS_WRITTEN.items() if span <= most)
    return alt.Axis(tickCount=5 if written == "%Y" else 3, format=written, gridColor=look.line, labelOverlap=True)


def _tone(what: str, look: theme.Tones) -> str:
    """Growth in the tone of what moves, what may be growth in a warm one, a new series quiet."""
    return {GROWN: look.alarm, PERHAPS: look.warm, LARGER: look.warm, NO_CHANGE: look.accent}.get(what, look.quiet)


def history_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Events in lanes on a time axis; `frame` has schema `history.EVENTS`. Changing: own shape and tone."""
    base = alt.Chart(frame)
    when = alt.X("on:T", title="day [date]", axis=_days(pl.concat([frame["on"], frame["until"]]), look))
    span = base.mark_rule(color=look.quiet, strokeWidth=2).encode(
        y=bars.line(frame, "lane"), x=when, x2=alt.X2("until:T")
    )
    marks = [STILL, CHANGING, GONE, ACT]
    legend = alt.Legend(symbolStrokeWidth=0, columns=2)  # a rim would tint what it matches; a phone cuts four abreast
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
    chart = bars.tall(frame["lane"].n_unique(), span, event, named, legend=2)
    return theme.drawn(chart, look)
