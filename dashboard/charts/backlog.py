"""Work that waits."""

from typing import Any

import altair as alt
import polars as pl

from dashboard import theme
from dashboard.charts import bars


def backlog_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Hours by class, likely as a dot, low to high as a line; `frame` has schema `backlog.BACKLOG`."""
    base = alt.Chart(frame)
    title = "hours of proposals, low to high, likely [h]"
    span = base.mark_rule(color=look.accent, strokeWidth=3, opacity=0.45).encode(
        y=bars.line(frame, "label"), x=bars.across("hours_low", title, look), x2="hours_high:Q"
    )
    likely = base.mark_point(color=look.accent, filled=True, size=90, opacity=1).encode(
        y=bars.line(frame, "label"), x="hours_likely:Q"
    )
    hours = "isValid(datum.hours_likely) ? format(datum.hours_likely, '.0f') + ' h (' + format(datum.hours_low, '.0f')"
    hours += " + ' to ' + format(datum.hours_high, '.0f') + '), ' : datum.objects > 0 ? 'no hours, ' : ''"
    figure = f"datum.label + ':  ' + ({hours}) + {bars.counted('objects')}"
    figure += " + (datum.no_hours > 0 ? ', ' + datum.no_hours + ' without hours' : '')"
    return theme.drawn(bars.tall(frame.height, span, likely, bars.words(base, frame, "label", figure, look)), look)
