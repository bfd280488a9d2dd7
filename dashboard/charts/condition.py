"""What condition the collection is in."""

from typing import Any

import altair as alt
import polars as pl

from collection.questions.condition import FEW
from dashboard import theme
from dashboard.charts import bars

COUNT = "objects checked [number]"


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
    active = base.mark_bar(size=bars.BAR, color=look.accent).encode(y=bars.line(frame, "label"), x=alt.X("active:Q"))
    figure = f"datum.label + ':  ' + {bars.counted('objects')} + ', '"
    figure += " + (datum.active > 0 ? datum.active + ' moving, ' : '')"
    figure += " + (datum.share_of_seen < 0.005 ? 'under 1 %' : replace(format(datum.share_of_seen, '.0%'), '%', ' %'))"
    return theme.drawn(bars.tall(frame.height, every, active, bars.words(base, frame, "label", figure, look)), look)


def by_group_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Share of the objects checked that show damage; `frame` has schema `condition.BY_GROUP`. Few: the number only."""
    base = alt.Chart(frame)
    title = "share with damage [% of objects checked]"
    across = alt.X(
        "share_damaged:Q",
        title=title,
        scale=alt.Scale(domain=[0, 1]),
        axis=alt.Axis(format="%", values=[0, 0.5, 1], labelExpr=bars.PERCENT, gridColor=look.line),
    )
    enough = base.transform_filter(f"datum.seen >= {FEW}")
    drawn = enough.mark_bar(size=bars.BAR, color=look.accent).encode(y=bars.line(frame, "group"), x=across)
    figure = "datum.group + ':  ' + datum.damaged + ' of ' + datum.seen"
    return theme.drawn(bars.tall(frame.height, drawn, bars.words(base, frame, "group", figure, look)), look)


def kinds_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """A table of tones, the number in each cell; `frame` has schema `condition.KINDS_BY_TECHNIQUE`."""
    base = alt.Chart(frame)
    kinds, techniques = (frame[name].unique(maintain_order=True).to_list() for name in ("label", "technique"))
    y = alt.Y("label:N", sort=kinds, title=None, axis=alt.Axis(labelLimit=170, ticks=False, domain=False))
    top = alt.Axis(orient="top", labelAngle=-40, labelLimit=120, ticks=False, domain=False)
    x = alt.X("technique:N", sort=techniques, title=None, axis=top)
    tone = alt.Scale(domain=[0, 0.5], range=[look.paper, look.unseen], clamp=True, interpolate="rgb")
    cells = base.mark_rect(stroke=look.line).encode(y=y, x=x, color=alt.Color("share:Q", scale=tone, legend=None))
    numbers = base.mark_text(color=look.ink).encode(y=y, x=x, text=alt.Text("objects:Q"))
    height = CELL * max(len(kinds), 1)
    return theme.drawn(alt.layer(cells, numbers, height=height, width="container"), look)


CELL = 24  # pixels
