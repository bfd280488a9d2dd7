"""What condition the collection is in."""

from typing import Any

import altair as alt
import polars as pl

from dashboard import theme
from dashboard.charts import bars

COUNT = "objects looked at [number]"


def grades_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Bars of objects by grade, best first; `frame` has schema `condition.GRADES`."""
    base = alt.Chart(frame)
    drawn = base.mark_bar(size=bars.BAR, color=look.accent).encode(
        y=bars.line(frame, "label"), x=bars.across("objects", COUNT, look)
    )
    figure = "datum.label + ':  ' + format(datum.objects, ',')"
    return theme.drawn(bars.tall(frame.height, drawn, bars.words(base, frame, "label", figure, look)), look)


def damage_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Bars of objects with each kind of damage, the active within them; `frame` has schema `condition.DAMAGE`."""
    base = alt.Chart(frame)
    every = base.mark_bar(size=bars.BAR, color=look.unseen, stroke=look.accent, strokeWidth=1).encode(
        y=bars.line(frame, "label"), x=bars.across("objects", COUNT, look)
    )
    active = base.mark_bar(size=bars.BAR, color=look.accent).encode(y=bars.line(frame, "label"), x="active:Q")
    figure = f"datum.label + ':  ' + {bars.counted('objects')} + ', '"
    figure += " + (datum.active > 0 ? datum.active + ' active, ' : '')"
    figure += " + (datum.share_of_seen < 0.005 ? 'under 1 %' : replace(format(datum.share_of_seen, '.0%'), '%', ' %'))"
    return theme.drawn(bars.tall(frame.height, every, active, bars.words(base, frame, "label", figure, look)), look)


def by_group_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Share of the objects seen that have open damage; `frame` has schema `condition.BY_GROUP`."""
    base = alt.Chart(frame)
    title = "share with open damage [% of objects looked at]"
    across = alt.X(
        "share_damaged:Q",
        title=title,
        scale=alt.Scale(domain=[0, 1]),
        axis=alt.Axis(format="%", values=[0, 0.5, 1], labelExpr="replace(datum.label, '%', ' %')", gridColor=look.line),
    )
    drawn = base.mark_bar(size=bars.BAR, color=look.accent).encode(y=bars.line(frame, "group"), x=across)
    figure = "datum.group + ':  ' + datum.damaged + ' of ' + datum.seen"
    return theme.drawn(bars.tall(frame.height, drawn, bars.words(base, frame, "group", figure, look)), look)
