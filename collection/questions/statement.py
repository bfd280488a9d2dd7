"""The year in measures that mean the same next year, each with limits, number, method and version of its definition."""

import hashlib
from collections.abc import Callable, Mapping
from datetime import date, timedelta

import polars as pl

from collection.frames import returns
from collection.learning.limits import share_limits
from collection.questions import how_sure
from collection.questions.damage_over_time import METHOD, watched_of
from collection.questions.estimate import Estimate, estimate, refused
from collection.questions.triage import Triage
from collection.questions.words import day_in_words, two_figures
from collection.risk.inspections import in_person
from collection.risk.parameters import PERCENT, Strict, read
from collection.snapshot import Collection
from collection.trends.damage_rates import ACTIVATION, NEW
from collection.trends.grades import rate_of
from collection.trends.parameters import trends
from collection.trends.repair_life import failures
from collection.trends.visits import visits

COUNTED, SHARES = "counted", "exact limits of a share (Clopper and Pearson 1934)"
DRAWN = "mean over the ranges of the rates; limits add up those of each object (nine in ten), the widest they can be"
STATEMENT = pl.Schema(
    dict.fromkeys(("measure", "label", "unit", "definition", "definitions_version", "method", "refused"), pl.String)
    | {"year": pl.Int64, "value": pl.Float64, "low": pl.Float64, "high": pl.Float64, "n": pl.Int64}
)
STATED = pl.Schema(dict.fromkeys(("measure", "label", "before", "now", "definition", "changed"), pl.String))
c = pl.col


class Defined(Strict):
    """What a measure is. version : raised whenever the definition changes. opens : stands in the first line."""

    version: str
    label: str
    unit: str
    definition: str
    opens: bool = False


def defined() -> Mapping[str, Defined]:
    """Definitions of statement.toml, in order; raises VocabularyError for a wrong one."""
    return read(dict[str, Defined], "statement", "measure")


@returns(STATEMENT)
def statement(triage: Triage, year: int) -> pl.DataFrame:
    """One row a measure, schema STATEMENT, of a collection cut to the last day of the year or before it."""
    rows = []
    for name, its in defined().items():
        figures = MEASURES[name](triage, year)
        version = f"{its.version}, rates {rates_digest(triage)}" if name in ON_RATES else its.version
        rows.append({"measure": name, "label": its.label, "unit": its.unit, "definition": its.definition,
                     "definitions_version": version, "year": year, **figures})  # fmt: skip
    return pl.DataFrame(rows, schema=STATEMENT)


def rates_digest(triage: Triage) -> str:
    """The first signs of a code of all rates in use: another code, other rates."""
    tables = (triage.rates.damage, triage.rates.repair)
    return hashlib.sha256("".join(frame.write_csv() for frame in tables).encode()).hexdigest()[:10]


def _count(number: int) -> Estimate:
    return estimate(float(number), float(number), float(number), number, COUNTED)


def _share(events: int, of: int, method: str, *, sampled: bool) -> Estimate:
    """In per cent. Of all objects a share is counted and has no limits but itself."""
    if not of:
        return refused("there is none to count", 0, method)
    value = PERCENT * events / of
    low, high = (PERCENT * end for end in share_limits(events, of, trends().limits)) if sampled else (value, value)
    return estimate(value, low, high, of, method)


def _checked(triage: Triage, _: int) -> Estimate:
    coverage = triage.coverage()
    return _share(coverage["checked"], coverage["objects"], COUNTED, sampled=False)


def _checked_in_year(triage: Triage, year: int) -> Estimate:
    seen = triage.risk.checks.filter(in_person(), c("seen_on").dt.year() == year)
    return _count(seen["object_id"].n_unique())


def _attention(triage: Triage, _: int) -> Estimate:
    return _count(triage.objects.filter(c("attention").is_in(triage.now)).height)


def _rate(of: str) -> Callable[[Triage, int], Estimate]:
    def measured(triage: Triage, year: int) -> Estimate:
        its = watched_of(triage, triage.objects, date(year, 1, 1), last_day(year)).rows.filter(c("count") == of)
        rate = rate_of(int(its["events"].sum()), float(its["years"].sum()), trends().limits)
        if rate.refused:
            return refused(rate.refused, 0, METHOD)
        return estimate(rate.value, rate.low, rate.high, rate.events, METHOD)

    return measured


def last_day(year: int) -> date:
    """The last day of a year."""
    return date(year + 1, 1, 1) - timedelta(days=1)


def _repairs_failed(triage: Triage, year: int) -> Estimate:
    its = failures(triage.collection, visits(triage.collection, triage.risk.checks), year)
    return _share(int(its["failed"].sum()), its.height, SHARES, sampled=True)


def _value_lost(triage: Triage, _: int) -> Estimate:
    rows = how_sure.drawn(triage).join(triage.objects.select("object_id", "value_share"), on="object_id")
    checked = triage.coverage()["checked"]
    if not checked:
        return refused("no object has been checked", 0, DRAWN)
    value, low, high = (
        PERCENT * float((rows[n] * rows["value_share"]).sum()) for n in ("mean", "loss_low", "loss_high")
    )
    return estimate(value, min(low, value), max(high, value), checked, DRAWN)


def _finished(triage: Triage, year: int) -> pl.DataFrame:
    return triage.collection["treatment"].filter(c("finished_on").dt.year() == year)


def _treatments(triage: Triage, year: int) -> Estimate:
    return _count(_finished(triage, year).height)


def _hours(triage: Triage, year: int) -> Estimate:
    written = _finished(triage, year)["hours"].drop_nulls()
    total = float(written.sum())
    return estimate(total, total, total, written.len(), COUNTED)


MEASURES: Mapping[str, Callable[[Triage, int], Estimate]] = {
    "checked": _checked,
    "checked_in_year": _checked_in_year,
    "attention": _attention,
    "new_damage": _rate(NEW),
    "activation": _rate(ACTIVATION),
    "repairs_failed": _repairs_failed,
    "value_lost": _value_lost,
    "treatments": _treatments,
    "hours": _hours,
}
ON_RATES = ("value_lost",)


@returns(STATED)
def two_years(now: pl.DataFrame, before: pl.DataFrame) -> pl.DataFrame:
    """A statement beside that of the year before, in words, schema STATED; both schema STATEMENT.

    changed : where a measure was defined otherwise in the year before, so that the two are not to be compared.
    """
    earlier = {row["measure"]: row for row in before.iter_rows(named=True)}
    rows = [
        {"measure": row["measure"], "label": f"{row['label']} [{row['unit']}]", "definition": row["definition"],
         "before": figure_words(earlier.get(row["measure"])), "now": figure_words(row),
         "changed": changed_words(row, earlier.get(row["measure"]))}
        for row in now.iter_rows(named=True)
    ]  # fmt: skip
    return pl.DataFrame(rows, schema=STATED)


def figure_words(row: Mapping[str, object] | None) -> str:
    """*5.3 (3.8 to 7.1)*, *41*, or why there is none."""
    if row is None:
        return "not stated"
    value, low, high = row["value"], row["low"], row["high"]
    if not isinstance(value, float) or not isinstance(low, float) or not isinstance(high, float):
        return str(row["refused"] or "not stated")
    if low == high:
        return f"{value:,.0f}" if value >= 1 else two_figures(value)
    return f"{two_figures(value)} ({two_figures(low)} to {two_figures(high)})"


def changed_words(now: Mapping[str, object], before: Mapping[str, object] | None) -> str:
    """That a measure was defined otherwise; empty where it was not, or where nothing was stated."""
    if before is None or before["definitions_version"] == now["definitions_version"]:
        return ""
    return f"defined otherwise then: version {before['definitions_version']}, now {now['definitions_version']}"


@returns(STATEMENT)
def frozen(collection: Collection, year: int) -> pl.DataFrame:
    """What was stated of a year and frozen, schema STATEMENT; empty where nothing was. Labels are those of today."""
    rows = collection["statement"].filter(c("year") == year).rename({"rests_on": "n"})
    known = defined()
    labels, units = ({name: getattr(its, n) for name, its in known.items()} for n in ("label", "unit"))
    order = {name: place for place, name in enumerate(known)}
    named = rows.with_columns(
        label=c("measure").replace_strict(labels, default=c("measure"), return_dtype=pl.String),
        unit=c("measure").replace_strict(units, default=pl.lit("as it was"), return_dtype=pl.String),
        place=c("measure").replace_strict(order, default=len(order), return_dtype=pl.Int64),
    )
    return named.sort("place", "measure").select(c(n).cast(t) for n, t in STATEMENT.items())


def frozen_sentence(collection: Collection, year: int) -> str:
    """When and by whom a year was frozen; empty where it was not."""
    rows = collection["statement"].filter(c("year") == year)
    if rows.is_empty():
        return ""
    row = rows.row(0, named=True)
    by = f" by {row['frozen_by']}" if row["frozen_by"] else ""
    return f"The figures of {year} are as they were frozen on {day_in_words(row['frozen_on'])}{by}."


def sentence(triage: Triage, year: int, rows: pl.DataFrame) -> str:
    """*The year 2025: need attention now 13, the year before 11; ... All 9 measures follow.*; `rows`: schema STATED.

    Until when, where the year is not over, and how many measures were defined otherwise in the year before.
    """
    whole = triage.as_of >= last_day(year)
    until = "" if whole else f", until {day_in_words(triage.as_of)}"
    changed = rows.filter(c("changed") != "").height
    flag = f" {changed} of them {'was' if changed == 1 else 'were'} defined otherwise before." if changed else ""
    known = defined()
    first = [
        f"{known[row['measure']].label.lower()} {row['now']}, the year before {row['before']}"
        for row in rows.iter_rows(named=True)
        if row["measure"] in known and known[row["measure"]].opens
    ]
    figures = f": {'; '.join(first)}" if first else ""
    return f"The year {year}{until}{figures}. All {rows.height} measures follow.{flag}"


def measures_in_words(rows: pl.DataFrame) -> list[tuple[str, str]]:
    """Each measure, schema of `two_years`, and its figures: *62; the year before 62. Since defined otherwise.*"""
    lines = rows.iter_rows(named=True)
    return [(r["label"], f"{r['now']}; the year before {r['before']}.{_flag(r['changed'])}") for r in lines]


def _flag(changed: str) -> str:
    return f" {changed[:1].upper()}{changed[1:]}." if changed else ""
