"""Work that waits: hours of open options by class of attention; an option without hours says so, it is not none."""

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage, classes_in_order
from collection.questions.words import count
from schemas.vocabularies import vocabulary

BACKLOG = pl.Schema(
    {
        "attention": pl.String(),
        "label": pl.String(),
        "objects": pl.UInt32(),
        "options": pl.UInt32(),
        "hours_low": pl.Float64(),
        "hours_likely": pl.Float64(),
        "hours_high": pl.Float64(),
        "no_hours": pl.UInt32(),
    }
)


WAITING = pl.Schema(
    {n: pl.String() for n in ("object_id", "title", "attention", "label")}
    | dict.fromkeys(("hours_likely", "hours_low", "hours_high"), pl.Float64())
    | {n: pl.String() for n in ("hours", "steps", "skill", "requires")}
)
WEEKS_A_YEAR = 52
NO_HOURS = "no hours"
HOURS = ("hours_low", "hours_likely", "hours_high")


def hours_a_week(triage: Triage) -> float | None:
    """Hours a week [h] there are for this, as set; None where nothing usable is set."""
    return triage.settings.hours_a_week


def waiting_options(triage: Triage) -> pl.DataFrame:
    """Open options of objects, of each object the one with fewest likely hours first; columns of record `option`."""
    waiting = list(vocabulary("option_status").terms_where("backlog"))
    unsettled = pl.col("status").is_in(waiting) | pl.col("status").is_null()
    options = triage.collection["option"].filter(pl.col("object_id").is_not_null(), unsettled)
    return options.sort("hours_likely", "option_id", nulls_last=True)


@returns(BACKLOG)
def backlog(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Open options of the chosen objects by class, in the order of the classes; schema BACKLOG.

    hours [h] sum, for each object, the option with fewest likely hours: the options of one object are alternatives.
    `no_hours` counts objects none of whose open options has any; where that is all of them, hours are empty, not 0.
    """
    one = (
        waiting_options(triage).group_by("object_id", maintain_order=True).agg(pl.col(HOURS).first(), options=pl.len())
    )
    counted = (
        chosen.join(one, on="object_id")
        .group_by("attention")
        .agg(
            objects=pl.len(),
            options=pl.col("options").sum(),
            **{n: pl.when(pl.col(n).is_not_null().any()).then(pl.col(n).sum()) for n in HOURS},
            no_hours=pl.col("hours_likely").is_null().sum(),
        )
    )
    terms = vocabulary("attention").labels()
    order = pl.DataFrame({"attention": classes_in_order()}).with_columns(label=pl.col("attention").replace(terms))
    joined = order.join(counted, on="attention", how="left", maintain_order="left").with_columns(
        pl.col("objects", "options", "no_hours").fill_null(0)
    )
    return joined.select(pl.col(n).cast(t) for n, t in BACKLOG.items())


@returns(WAITING)
def waiting_objects(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """The chosen objects with open options, each with its option of fewest hours; schema WAITING, in rank order."""
    steps, skills = vocabulary("treatment_step").labels(), vocabulary("skill").labels()
    one = waiting_options(triage).unique("object_id", keep="first", maintain_order=True)
    titles = triage.collection["object"].select("object_id", "title")
    mine = chosen.select("object_id", "attention").join(one, on="object_id", maintain_order="left")
    both = mine.join(titles, on="object_id", how="left", maintain_order="left")
    worded = both.with_columns(
        label=pl.col("attention").replace(vocabulary("attention").labels()),
        steps=pl.col("steps").list.eval(pl.element().replace(steps)).list.join(", "),
        skill=pl.col("skill").replace(skills),
        requires=pl.col("requires").replace(vocabulary("qualified").labels()),
        hours=pl.when(pl.col("hours_likely").is_null()).then(pl.lit(NO_HOURS)).otherwise(pl.lit("known")),
    )
    return worded.select(pl.col(n).cast(t) for n, t in WAITING.items())


def backlog_sentence(triage: Triage, table: pl.DataFrame) -> str:
    """*35 objects wait for 287 hours of work (200 to 430), about 1.8 years at 3 hours a week; 2 have no hours yet.*"""
    low, likely, high = (float(table[n].sum()) for n in HOURS)
    objects, without = int(table["objects"].sum()), int(table["no_hours"].sum())
    if not objects:
        return "No proposal waits for hours here."
    waiting = count(objects, "object waits", "objects wait")
    if without == objects:
        return f"{waiting}, and nobody has estimated the hours yet."
    week = hours_a_week(triage)
    years = f", about {likely / (week * WEEKS_A_YEAR):.2g} years at {_hours(week)} a week" if week else ""
    not_summed = "has no estimate yet and is not in the sum", "have no estimate yet and are not in the sum"
    rest = f"; {without} {not_summed[without > 1]}" if without else ""
    return f"{waiting} for about {_hours(round(likely))} of work ({low:.0f} to {high:.0f}){years}{rest}."


def _hours(number: float) -> str:
    return f"{number:g} {'hour' if number == 1 else 'hours'}"
