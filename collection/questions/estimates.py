"""Options that nobody estimated hours for, and how far past estimates were off, by first step."""

import polars as pl

from collection.frames import returns
from collection.plan.parameters import planning
from collection.planning.options import learned_of
from collection.questions.triage import Triage
from collection.questions.words import count, two_figures
from schemas.vocabularies import vocabulary

FIGURES = ("hours_low", "hours_likely", "hours_high", "tests_hours", "bench_days", "materials_cost")
# Options without hours, those of objects to act on now first; the columns after `what` are to be filled, and are those
# of record `option`. class_of_attention, what: in words.
TO_ESTIMATE = pl.Schema(
    dict.fromkeys(("option_id", "object_id", "name", "class_of_attention", "what"), pl.String)
    | {"skill": pl.String}
    | dict.fromkeys(FIGURES, pl.Float64)
    | {"currency": pl.String}
)
# What finished treatments took, as a multiple of the hours planned, on the average of logarithms; n: how many.
BIAS = pl.Schema({"first_step": pl.String, "step": pl.String, "n": pl.UInt32, "times": pl.Float64})
c = pl.col


@returns(TO_ESTIMATE)
def to_estimate(triage: Triage) -> pl.DataFrame:
    """Open options whose hours nobody has estimated, schema TO_ESTIMATE."""
    known = triage.collection
    waiting = vocabulary("option_status").terms_where("backlog")
    is_open = c("status").is_in(waiting) | c("status").is_null()
    options = known["option"].filter(is_open, c("hours_likely").is_null())
    order = triage.objects.select("object_id", "attention").with_row_index("nth")
    titles = known["object"].select("object_id", "title")
    places = known["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    rows = options.join(order, on="object_id", how="left").join(titles, on="object_id", how="left")
    steps = vocabulary("treatment_step").labels()
    named = rows.join(places, on="location_id", how="left").with_columns(
        name=pl.coalesce("title", "place"),
        class_of_attention=c("attention").replace(vocabulary("attention").labels()),
        what=c("steps").list.eval(pl.element().replace(steps)).list.join(", "),
    )
    ordered = named.sort("nth", "option_id", nulls_last=True)
    return ordered.select(c(n).cast(t) for n, t in TO_ESTIMATE.items())


def to_estimate_sentence(triage: Triage, rows: pl.DataFrame) -> str:
    """*Get an estimate for these 13, four of them to act on now.* Empty where all have hours."""
    if rows.is_empty():
        return ""
    labels = [vocabulary("attention").labels()[term] for term in triage.now]
    now = rows.filter(c("class_of_attention").is_in(labels)).height
    options = "this option" if rows.height == 1 else f"these {rows.height:,} options"
    urgent = f", {now:,} of them to act on now" if now else ""
    return f"Get an estimate for {options}{urgent}: `enamels estimates` writes a workbook to fill."


@returns(BIAS)
def bias(triage: Triage) -> pl.DataFrame:
    """By how much finished treatments took more or less than planned, by first step, schema BIAS."""
    learned = learned_of(triage.collection, planning())
    labels = vocabulary("treatment_step").labels()
    rows = learned.with_columns(step=c("first_step").replace(labels))
    return rows.select(c(n).cast(t) for n, t in BIAS.items())


def bias_sentence(rows: pl.DataFrame) -> str:
    """*Past estimates: removal of an old repair took 1.4 times the hours planned (5 treatments); ...*"""
    each = [
        f"{step.lower()} took {_times_words(times)} ({count(n, 'treatment')})"
        for _, step, n, times in rows.sort("n", "first_step", descending=[True, False]).iter_rows()
    ]
    return f"Past estimates, which the hours here allow for: {'; '.join(each)}." if each else ""


def _times_words(times: float) -> str:
    factor = two_figures(times)
    return "the hours planned" if factor == two_figures(1.0) else f"{factor} times the hours planned"
