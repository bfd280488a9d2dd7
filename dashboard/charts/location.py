"""Where the risk lies."""

from typing import Any

import altair as alt
import polars as pl

from dashboard import theme
from dashboard.charts import bars

PICKED = "picked_place"
SMALL = 0.02  # of what was found: less unseen is drawn and not written
LOSS, UNSEEN = "from what was found", "from what nobody has seen (judged by kind)"


def by_location_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Bars of objects' worth lost a year; `frame` has schema `storeroom.BY_LOCATION`. The unseen has a broken edge."""
    base = alt.Chart(frame)
    seen = f"datum.what == 'objects_worth_a_year' ? '{LOSS}' : '{UNSEEN}'"
    folded = base.transform_fold(["objects_worth_a_year", "unseen_worth_a_year"], as_=["what", "worth"])
    picked = alt.selection_point(name=PICKED, fields=["location_id"], on="click", clear=False)
    kinds = alt.Scale(domain=[LOSS, UNSEEN], range=[look.accent, look.unseen])
    dashes = alt.Scale(domain=[LOSS, UNSEEN], range=[[1, 0], [3, 2]])
    legend = alt.Legend(direction="vertical")
    drawn = (
        folded.transform_calculate(kind=seen)
        .mark_bar(size=bars.BAR, stroke=look.accent, strokeWidth=1, cursor="pointer")
        .encode(
            y=bars.line(frame, "name"),
            x=bars.across("worth", "objects' worth lost a year, if left [objects/year]", look),
            color=alt.Color("kind:N", scale=kinds, legend=legend),
            strokeDash=alt.StrokeDash("kind:N", scale=dashes, legend=legend),
            order=alt.Order("what:N", sort="ascending"),
            tooltip=[
                alt.Tooltip("name:N", title="Place"),
                alt.Tooltip("kind:N", title="Loss"),
                alt.Tooltip("worth:Q", title="Objects' worth a year", format=".2~g"),
            ],
        )
        .add_params(picked)
    )
    return theme.drawn(bars.tall(frame.height, drawn, bars.words(base, frame, "name", _figure(), look), legend=2), look)


def _figure() -> str:
    """What is written above a bar, as a Vega expression: place, loss, objects, how many need attention."""
    some = f"datum.unseen_worth_a_year > {SMALL} * datum.objects_worth_a_year"
    unseen = f"({some} ? ' + ' + {bars.number('unseen_worth_a_year')} + ' unseen' : '')"
    need = "(datum.need_attention > 0 ? ', ' + datum.need_attention + ' now)' : ')')"
    lost = bars.number("objects_worth_a_year")
    return f"datum.name + ':  ' + {lost} + {unseen} + '  (' + {bars.counted('objects')} + {need}"
