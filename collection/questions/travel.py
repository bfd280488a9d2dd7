"""May these objects travel? Verdict, reasons, what would make them fit, and whether there is time for it."""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from math import ceil
from typing import Any

import polars as pl

from collection.facts.facts import Facts
from collection.frames import returns
from collection.loans.effort import EFFORT, HOURS, effort
from collection.loans.parameters import travel_words
from collection.loans.rules import FIT, NOT_FIT, travel_reasons, verdicts
from collection.questions.triage import Triage
from collection.questions.words import count, day_in_words, two_figures

TRAVEL_LIST = pl.Schema(
    [(n, pl.String()) for n in ("object_id", "title", "place", "loan_id")]
    + [("leaves_on", pl.Date()), ("days_left", pl.Int64()), ("verdict", pl.String()), ("verdict_words", pl.String())]
    + [("against", pl.List(pl.String)), ("conditions", pl.List(pl.String)), ("time", pl.String())]
    + [(name, kind) for name, kind in EFFORT.items() if name != "object_id"]
)
MINUTES = timedelta(hours=1) // timedelta(minutes=1)
DAYS_A_WEEK = timedelta(weeks=1).days
NOTHING = "nothing on record against it"
c = pl.col


@returns(TRAVEL_LIST)
def travel(triage: Triage, object_ids: Sequence[str] | None = None, loan_id: str | None = None) -> pl.DataFrame:
    """One row an object, in the order asked, schema TRAVEL_LIST; all objects where none is named.

    `loan_id`: the loan the journey is for; else the next each is promised to, if any. hours [h]; cost in `currency`.
    time: in words, empty where nothing is to be done, no leg has a day, or it was to leave before.
    """
    return travel_of(
        triage, Facts(triage.collection, triage.risk, triage.rates, object_ids, worded=True, loan_id=loan_id)
    )


@returns(TRAVEL_LIST)
def travel_of(triage: Triage, facts: Facts) -> pl.DataFrame:
    """As `travel`, for the objects and the loan of these facts, which are worded; schema TRAVEL_LIST."""
    reasons = travel_reasons(facts).collect(engine="in-memory")
    joined = _named(triage, facts).join(_sentences(reasons), on="object_id", how="left", maintain_order="left")
    rows = joined.join(effort(reasons.lazy(), facts), on="object_id", how="left", maintain_order="left")
    week = triage.settings.hours_a_week
    time = pl.Series([_time_words(row, week) for row in rows.iter_rows(named=True)], dtype=pl.String)
    empty = {n: c(n).fill_null([]) for n in ("against", "conditions", "fit_when", "options")}
    worded = rows.with_columns(time=time, **empty)
    ordered = worded if facts.only is None else _in_order(worded, facts.only)
    return ordered.select(c(n).cast(t) for n, t in TRAVEL_LIST.items())


def _named(triage: Triage, facts: Facts) -> pl.DataFrame:
    """Every object asked for, with its verdict, title, place, loan, and the days left before it leaves."""
    labels = dict(travel_words().verdict)
    places = triage.collection["location"].lazy().select("location_id", place=pl.coalesce("name", "location_id"))
    objects = facts.of("object").select("object_id", "title", "location_id")
    rows = objects.join(places, on="location_id", how="left", maintain_order="left")
    judged = rows.join(verdicts(facts), on="object_id", how="left", maintain_order="left")
    promised = judged.join(facts.leaves, on="object_id", how="left", maintain_order="left")
    return promised.with_columns(
        days_left=(c("leaves_on") - facts.as_of).dt.total_days(),
        verdict_words=c("verdict").replace_strict(labels, return_dtype=pl.String),
    ).collect(engine="in-memory")


def _sentences(reasons: pl.DataFrame) -> pl.DataFrame:
    """Reasons against and conditions of each object, each sentence once."""
    against, sentences = c("verdict") == NOT_FIT, c("reason")
    return reasons.group_by("object_id", maintain_order=True).agg(
        against=sentences.filter(against).unique(maintain_order=True),
        conditions=sentences.filter(~against).unique(maintain_order=True),
    )


def _in_order(rows: pl.DataFrame, object_ids: Sequence[str]) -> pl.DataFrame:
    order = pl.DataFrame({"object_id": list(dict.fromkeys(object_ids))}, schema={"object_id": pl.String})
    return order.join(rows, on="object_id", how="inner", maintain_order="left")


def sentence(rows: pl.DataFrame) -> str:
    """*Of 70 objects 12 may travel as recorded, 20 under conditions; 38 are not to be packed as recorded.*"""
    counts = dict(rows["verdict"].value_counts().iter_rows())
    fit, unfit = counts.get(FIT, 0), counts.get(NOT_FIT, 0)
    rest = rows.height - fit - unfit
    not_packed = f"{unfit:,} {'is' if unfit == 1 else 'are'} not to be packed as recorded"
    return f"Of {count(rows.height, 'object')} {fit:,} may travel as recorded, {rest:,} under conditions; {not_packed}."


def one(triage: Triage, object_id: str) -> Mapping[str, Any]:
    """The row of one object for its next loan, schema TRAVEL_LIST."""
    return travel(triage, [object_id]).row(0, named=True)


def verdict_words(triage: Triage) -> pl.DataFrame:
    """object_id and `travels`, the verdict in words, of every object."""
    facts = Facts(triage.collection, triage.risk, triage.rates)
    words = c("verdict").replace_strict(dict(travel_words().verdict), return_dtype=pl.String)
    return verdicts(facts).select("object_id", travels=words).collect(engine="in-memory")


def for_what(row: Mapping[str, Any]) -> str:
    """*Judged for LN 2026/2, which leaves 16 November 2026.* Without a loan: for any journey."""
    if row["loan_id"] is None:
        return "No loan out is ahead; judged as if it were to be packed today."
    day = f", which leaves {day_in_words(row['leaves_on'])}" if row["leaves_on"] else ""
    return f"Judged for {row['loan_id']}{day}."


def verdict_sentence(row: Mapping[str, Any]) -> str:
    """*Not to be packed as recorded: active lifting, seen 22 September 2026; before packing: treat what lifts.*"""
    return f"{row['verdict_words']}: {because_words(row)}."


def what_to_do(row: Mapping[str, Any]) -> list[str]:
    """Sentences: what would make it fit, what that takes, whether there is time; none where nothing is to be done."""
    fit_when = f"it would be fit when {'; '.join(row['fit_when'])}" if row["fit_when"] else ""
    effort = effort_words(row)
    takes = f"that takes {effort}" if effort and row["hours_likely"] is not None else effort
    return [_sentence(words) for words in (fit_when, takes, row["time"]) if words]


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def because_words(row: Mapping[str, Any]) -> str:
    """Reasons against and conditions of a row of TRAVEL_LIST, in one line."""
    return "; ".join([*row["against"], *row["conditions"]]) or NOTHING


def effort_words(row: Mapping[str, Any]) -> str:
    """*about 6 h (4 to 10), 120 GBP of materials; 1 has no estimate*; empty where nothing is to be done."""
    if row["verdict"] != NOT_FIT:
        return ""
    parts = []
    if row["hours_likely"] is not None:
        parts.append(_hours_words(*(row[name] for name in HOURS)))
    if row["cost"]:
        parts.append(f"materials {row['cost']:,.0f} {row['currency'] or ''}".rstrip())
    if row["no_estimate"]:
        parts.append(f"no estimate yet for {row['no_estimate']} of the reasons")
    return ", ".join(parts)


def _hours_words(low: float, likely: float, high: float) -> str:
    """*about 6 h (4 to 10)*, *about 23 min*."""
    small = high < 1
    shown = [f"{n * MINUTES:.0f}" if small else two_figures(n) for n in (low, likely, high)]
    span = f" ({shown[0]} to {shown[-1]})" if shown[0] != shown[-1] else ""
    return f"about {shown[1]} {'min' if small else 'h'}{span}"


def _time_words(row: Mapping[str, Any], hours_a_week: float | None) -> str:
    """Whether there is time before it leaves."""
    if row["verdict"] != NOT_FIT or row["days_left"] is None or row["days_left"] < 0:
        return ""
    left = f"leaves {day_in_words(row['leaves_on'])}, {count(row['days_left'], 'day')} left"
    if row["hours_likely"] is None or row["no_estimate"]:
        all_of_it = "all of it" if row["hours_likely"] is not None else "it"
        return f"{left}; nobody has estimated how long {all_of_it} takes"
    if hours_a_week is None:
        return f"{left}; hours a week are not set"
    days = ceil(row["hours_likely"] / hours_a_week * DAYS_A_WEEK + (row["waiting_days"] or 0))
    enough = "in time" if days <= row["days_left"] else "NOT in time"
    return f"{left}; at {hours_a_week:g} h a week it takes {count(days, 'day')}: {enough}"
