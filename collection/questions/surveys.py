"""The surveys of the register: what was drawn, how far each is, what its checks say of all it stands for."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from collection.questions.words import count, day_in_words, two_figures
from collection.snapshot import Collection
from collection.surveys.outcomes import UNITS, Progress, outcomes, progress
from collection.surveys.parameters import surveys as figures
from collection.surveys.results import RESULTS, results
from schemas.vocabularies import vocabulary

SURVEYS = pl.Schema(
    dict.fromkeys(("survey_id", "question", "how", "design"), pl.String)
    | {"starts_on": pl.Date, "ends_on": pl.Date}
    | dict.fromkeys(("drawn", "done", "waiting", "not_seen"), pl.Int64)
    | {"sampling": pl.String, "confidence": pl.Float64}
)
WITHOUT_UNITS = "of the objects that its checks name; which others there were is not on record"
ACTIVE, FAILING = "with active damage", "with an earlier repair that fails"
FAILS = ("failing", "failed", "harmful")  # flags of the state of a repair
PERCENT = 100  # in a whole
c = pl.col


@returns(SURVEYS)
def surveys(triage: Triage) -> pl.DataFrame:
    """Every survey with how far it is, latest first, schema SURVEYS."""
    records = triage.collection["survey"].sort("starts_on", "survey_id", descending=True, nulls_last=True)
    labels, designs = vocabulary("selection").labels(), vocabulary("sampling").labels()
    rows = []
    for row in records.iter_rows(named=True):
        its = progress(units_of(triage, row["survey_id"]), row["starts_on"], triage.as_of, figures().pace_limits)
        chosen, drawn = labels.get(row["selection"]), designs.get(row["sampling"])
        how = ", ".join(filter(None, (chosen, drawn)))
        counts = {"drawn": its.drawn, "done": its.done, "waiting": its.waiting}
        rows.append({**row, "how": how, **counts, "not_seen": its.drawn - its.done - its.waiting})
    return pl.DataFrame(rows, schema={**records.schema, **SURVEYS}, strict=False).select(
        c(n).cast(t) for n, t in SURVEYS.items()
    )


def survey_row(triage: Triage, survey_id: str) -> Mapping[str, Any] | None:
    """The record of a survey; None where there is none."""
    rows = triage.collection["survey"].filter(c("survey_id") == survey_id)
    return rows.row(0, named=True) if rows.height else None


@returns(UNITS)
def units_of(triage: Triage, survey_id: str) -> pl.DataFrame:
    """The objects of a survey with what came of each, schema UNITS.

    Of a survey whose objects are not on record: those of its checks, with no chance of being drawn, unless it took all.
    """
    known = triage.collection
    checks = checks_of(triage, survey_id)
    units = known["survey_unit"].filter(c("survey_id") == survey_id)
    if units.is_empty():
        took_all = _took_all(known, survey_id)
        numbers = checks.select(unit_id="object_id").unique("unit_id").sort("unit_id")
        units = numbers.with_columns(
            stratum=None, cluster=None, cluster_chance=None, outcome=None, draw_order=None,
            chance=pl.lit(1.0 if took_all else None, pl.Float64),
        ).cast({"stratum": pl.String, "cluster": pl.String, "outcome": pl.String})  # fmt: skip
    return outcomes(units, checks)


def _took_all(known: Collection, survey_id: str) -> bool:
    """Whether a survey of before took every object: representative, and nothing was drawn."""
    ways = vocabulary("selection")
    every = set(ways.terms_where("representative")) - set(ways.terms_where("by_lot"))
    return (
        known["survey"].filter(c("survey_id") == survey_id)["selection"].is_in(list(every)).fill_null(value=False).any()
    )


def checks_of(triage: Triage, survey_id: str) -> pl.DataFrame:
    """object_id, check_id, visit, look, seen_on, grade of the checks of a survey that no later one corrects."""
    mine = triage.collection["condition_check"].filter(c("survey_id") == survey_id).select("check_id")
    rows = triage.risk.checks.join(mine, on="check_id", how="semi")
    return rows.select("object_id", "check_id", "visit", "look", "seen_on", "grade")


def sampling_of(triage: Triage, survey_id: str) -> str | None:
    """The design of a survey as recorded; of one of before that took every object, that."""
    row = survey_row(triage, survey_id)
    if row is None or row["sampling"]:
        return None if row is None else row["sampling"]
    (takes_all, *_) = vocabulary("sampling").terms_where("takes_all")
    return takes_all if _took_all(triage.collection, survey_id) else None


def answers(triage: Triage, survey_id: str) -> pl.DataFrame:
    """unit_id and a column of yes and no for each measure: graded so or worse, active damage, a repair that fails.

    A grade that was not given is null; damage and repairs are those of which the survey's check has a line,
    null where it was a sweep that noted none.
    """
    checks = checks_of(triage, survey_id).sort("seen_on", "check_id").unique("object_id", keep="last")
    grades = vocabulary("grade")
    place = {term: n for n, term in enumerate(grades.term)}
    graded = c("grade").replace_strict(place, default=None, return_dtype=pl.Int64)
    worse = {_graded(grades.labels()[t], n < len(place) - 1): graded >= n for t, n in place.items() if n}
    moving, states = vocabulary("activity").terms_where("moving"), vocabulary("stability")
    failing = [term for flag in FAILS for term in states.terms_where(flag)]
    lines = triage.collection["observation"].filter(c("activity").is_in(moving)).select("check_id").unique()
    repairs = triage.collection["repair_state"].filter(c("stability").is_in(failing)).select("check_id").unique()
    marked = checks.join(lines.with_columns(moves=True), on="check_id", how="left").join(
        repairs.with_columns(fails=True), on="check_id", how="left"
    )
    thorough = c("look").is_in(vocabulary("look").terms_where("each_damage")).fill_null(value=False)
    named = {ACTIVE: "moves", FAILING: "fails"}
    flags = {name: pl.when(thorough).then(c(flag).fill_null(value=False)) for name, flag in named.items()}
    return marked.select(unit_id="object_id", **worse, **flags)


def confidence_of(triage: Triage, survey_id: str) -> float:
    """The chance with which its limits are to hold."""
    row = survey_row(triage, survey_id) or {}
    return float(row.get("confidence") or figures().confidence)


def by_lot_from_all() -> str:
    """The design in which all have the same chance: no groups, no places, not all."""
    designs = vocabulary("sampling")
    others = {term for flag in ("takes_all", "by_stratum", "by_cluster") for term in designs.terms_where(flag)}
    return next(term for term in designs.term if term not in others)


def _graded(label: str, or_worse: bool) -> str:  # noqa: FBT001
    return f"graded {label.lower()}{' or worse' if or_worse else ''}"


@returns(RESULTS)
def estimates(triage: Triage, survey_id: str) -> pl.DataFrame:
    """What a survey says of all objects it stands for, schema RESULTS of `collection.surveys.results`."""
    confidence = confidence_of(triage, survey_id)
    units = units_of(triage, survey_id)
    its = results(units, answers(triage, survey_id), sampling_of(triage, survey_id), confidence)
    recorded = triage.collection["survey_unit"].filter(c("survey_id") == survey_id)
    if recorded.height or units.is_empty():
        return its
    return its.with_columns(method=pl.format("{}, {}", "method", pl.lit(WITHOUT_UNITS)))


def progress_sentence(its: Progress) -> str:
    """*Of 60 objects drawn 20 were checked, 3 could not be, 37 wait; at this pace it ends about 3 May 2027 (12 March
    to 9 August 2027).*
    """
    if not its.drawn:
        return "Nobody was drawn, and no check names this survey."
    lost = its.drawn - its.done - its.waiting
    parts = [f"{its.done:,} {'was' if its.done == 1 else 'were'} checked"]
    parts += [f"{lost:,} could not be"] if lost else []
    parts += [f"{its.waiting:,} {'waits' if its.waiting == 1 else 'wait'}"] if its.waiting else []
    head = f"Of {count(its.drawn, 'object')} drawn {', '.join(parts)}"
    if its.ends is None:
        return f"{head}."
    limits = f"{_day(its.earliest)} to {_day(its.latest)}"
    return f"{head}; at this pace it ends about {_day(its.ends)} ({limits})."


def _day(day: date | None) -> str:
    return day_in_words(day) if day else "nobody can say when"


def results_in_words(rows: pl.DataFrame, confidence: float) -> list[str]:
    """A sentence for each measure; one for all where none can be told, for one reason. `rows`: schema RESULTS.

    *No figure for all that could be drawn, since chances of being drawn are not known. Of those checked: graded poor or
    worse 33 of 336; with active damage 19 of 336.*
    """
    reasons = rows["refused"].unique().to_list()
    if rows.height > 1 and len(reasons) == 1 and reasons[0]:
        seen = "; ".join(f"{row['measure']} {_bounds(row).removesuffix('.')}" for row in rows.iter_rows(named=True))
        return [f"No figure for all that could be drawn, since {reasons[0]}. Of those checked: {seen}."]
    return [result_sentence(row, confidence) for row in rows.iter_rows(named=True)]


def result_sentence(row: Mapping[str, Any], confidence: float) -> str:
    """*Graded poor or worse: 20 % (15 to 26 %; 95 % limits) of all objects that could be drawn, from 188 checked.*"""
    head = row["measure"][:1].upper() + row["measure"][1:]
    if row["refused"]:
        return f"{head}: no figure, since {row['refused']}; {_bounds(row)}"
    limits = f"{_percent(row['low'])} to {_percent(row['high'])}; {confidence * PERCENT:g} % limits"
    limits = "no margin: all were checked" if row["low"] == row["high"] else limits
    share = f"{head}: {_percent(row['value'])} ({limits})"
    return f"{share} of all that could be drawn, from {row['n']:,} checked; {_bounds(row)}"


def _bounds(row: Mapping[str, Any]) -> str:
    """What holds whatever those are that could not be seen."""
    if row["least"] is None:
        return "none was checked."
    if not row["not_seen"]:
        return f"{row['affected']:,} of {row['n']:,}."
    least, most = _percent(row["least"]), _percent(row["most"])
    unseen = f"whatever the {row['not_seen']:,} are that could not be seen"
    return f"{row['affected']:,} of {row['n']:,}, and between {least} and {most} of those drawn {unseen}."


def _percent(share: float) -> str:
    return f"{two_figures(share * PERCENT)} %"
