"""What is expected of objects not yet checked."""

from typing import Any

import altair as alt
import polars as pl

from dashboard import theme
from dashboard.charts import bars


def expected_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Bars of objects expected above the limit, by kind; `frame` has schema `expected.BY_KIND`."""
    base = alt.Chart(frame)
    drawn = base.mark_bar(
        size=bars.BAR, color=look.unseen, stroke=look.accent, strokeWidth=1, strokeDash=[3, 2]
    ).encode(
        y=bars.line(frame, "kind"),
        x=bars.across("expected_objects", "objects expected above the limit [number]", look),
    )  # fmt: skip
    some = "'first checks: ' + datum.above_limit + ' of ' + datum.checked_first"
    first = f"(datum.checked_first > 0 ? {some} : 'none checked yet')"
    figure = (
        "datum.kind + ':  ' + format(datum.expected_objects, '.1f') + ' of ' + datum.objects + '  (' + "
        + first
        + " + ')'"
    )
    return theme.drawn(bars.tall(frame.height, drawn, bars.words(base, frame, "kind", figure, look)), look)
