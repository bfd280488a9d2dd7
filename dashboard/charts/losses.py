"""Loss to expect: where, and by what causes it; and in objects that are not yet checked."""

from collections.abc import Sequence
from typing import Any

import altair as alt
import polars as pl

from dashboard import theme
from dashboard.charts import bars

PICKED = "picked_place"
LEAST = 0.000001  # share of the collection's value; below it nobody can tell
WORDS = {
    "repairs": "earlier repairs",
    "damage": "damage",
    "journeys": "planned journeys",
    "climate": "climate worse than at the last check",
    "not_checked": "not yet checked (judged by kind)",
}
DASHED = "not_checked"


def by_location_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Bars of % of the collection's value a year, by cause; `frame` has schema `where_lost.BY_LOCATION`.

    What nobody has checked has a broken edge. Causes that no place has are left out of the legend.
    """
    base = alt.Chart(frame)
    causes = [cause for cause in WORDS if frame[cause].sum() > 0] or [next(iter(WORDS))]
    order = {cause: place for place, cause in enumerate(causes)}
    words, places = (f"{{{', '.join(f'{k}: {v!r}' for k, v in its.items())}}}" for its in (WORDS, order))
    picked = alt.selection_point(name=PICKED, fields=["location_id"], on="click", clear=False)
    drawn = (
        base.transform_fold([*causes], as_=["what", "lost"])
        .transform_calculate(cause=f"{words}[datum.what]", place=f"{places}[datum.what]")
        .mark_bar(size=bars.BAR, stroke=look.accent, strokeWidth=1, cursor="pointer")
        .encode(y=bars.line(frame, "name"), x=_lost(look), **_by_cause(causes, look))
        .add_params(picked)
    )
    labelled = bars.words(base, frame, "name", _figure(), look)
    return theme.drawn(bars.tall(frame.height, drawn, labelled, legend=len(causes)), look)


def _lost(look: theme.Tones) -> alt.X:
    """Length: the share of the collection's value lost each year."""
    title = "expected loss, if nothing is done [% of the collection's value a year]"
    axis = alt.Axis(tickCount=4, format=".2~p", labelExpr=bars.PERCENT, gridColor=look.line)
    return alt.X("lost:Q", title=title, axis=axis, scale=alt.Scale(zero=True, nice=True))


def _by_cause(causes: Sequence[str], look: theme.Tones) -> dict[str, Any]:
    """Tone, edge and order of what each cause takes, and what is said of it under the pointer."""
    shown = [WORDS[cause] for cause in causes]
    tones = alt.Scale(domain=shown, range=[look.causes[list(WORDS).index(cause)] for cause in causes])
    dashes = alt.Scale(domain=shown, range=[[3, 2] if cause == DASHED else [1, 0] for cause in causes])
    legend = alt.Legend(direction="vertical")
    return {
        "color": alt.Color("cause:N", scale=tones, legend=legend),
        "strokeDash": alt.StrokeDash("cause:N", scale=dashes, legend=legend),
        "order": alt.Order("place:Q", sort="ascending"),
        "tooltip": [
            alt.Tooltip("name:N", title="Place"),
            alt.Tooltip("cause:N", title="From"),
            alt.Tooltip("lost:Q", title="Of the collection's value a year", format=".2~p"),
        ],
    }


def _figure() -> str:
    """What is written above a bar, as a Vega expression: place, loss, objects, how many need attention."""
    urgent = "(datum.need_attention > 0 ? ', ' + datum.need_attention + ' now)' : ')')"
    total = f"(datum.expected_loss + datum.{DASHED})"
    least = f"({total} > 0 ? 'under {LEAST * 100:.4f} %' : '0 %')"
    lost = f"({total} >= {LEAST} ? replace(format({total}, '.2~p'), '%', ' %') : {least})"
    return f"datum.name + ':  ' + {lost} + '  (' + {bars.counted('objects')} + {urgent}"


def expected_chart(frame: pl.DataFrame, look: theme.Tones = theme.LIGHT) -> Any:
    """Bars of objects expected above the limit, by kind; `frame` has schema `not_yet_checked.BY_KIND`."""
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
