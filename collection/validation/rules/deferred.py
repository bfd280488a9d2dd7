"""Rules over several records that can only be judged when every sheet has been: they ask, and refuse nothing."""

from collections.abc import Callable

import polars as pl

from collection.intake.files.sheet import ROW
from collection.validation.problems import found, nothing
from collection.validation.rules.cross_record import Lookup
from schemas.vocabularies import load_parameters, vocabulary

LateRule = Callable[[pl.DataFrame, Lookup], pl.DataFrame]
DEFERRED_RECORD = "condition_check"


def open_damage_not_looked_at(checks: pl.DataFrame, all_of: Lookup) -> pl.DataFrame:
    """An inspection has a line for each damage that is open."""
    close = vocabulary("look").terms_where("each_damage")
    looked = checks.filter(pl.col("look").is_in(list(close))).select(
        ROW, "check_id", "object_id", day="checked_on_latest"
    )
    known = all_of("damage").select("object_id", "damage_id", "closed_on", "first_seen_on_earliest")
    due = looked.join(known, on="object_id").filter(
        pl.col("closed_on").is_null() | (pl.col("closed_on") > pl.col("day")),
        pl.col("first_seen_on_earliest").is_null() | (pl.col("first_seen_on_earliest") <= pl.col("day")),
    )
    bare = due.join(all_of("observation").select("check_id", "damage_id"), on=["check_id", "damage_id"], how="anti")
    return found(
        bare.unique(ROW, maintain_order=True), "open_damage_not_looked_at", "check_id", value=pl.col("damage_id")
    )


def grade_above_floor(checks: pl.DataFrame, all_of: Lookup) -> pl.DataFrame:
    """The overall grade is the most serious single condition, unless a conservator says why not."""
    graded = checks.with_columns(mine=_rank(pl.col("grade"))).filter(pl.col("mine").is_not_null())
    reasoned = pl.col("grade_reason").is_not_null() if "grade_reason" in checks.columns else pl.lit(value=False)
    floors = (
        pl.concat([_floor_of_damage(all_of), _floor_of_repairs(all_of)])
        .drop_nulls()
        .group_by("check_id")
        .agg(pl.col("floor").max())
    )
    wrong = graded.filter(~reasoned).join(floors, on="check_id").filter(pl.col("mine") < pl.col("floor"))
    grades = dict(enumerate(vocabulary("grade").term))
    expected = wrong.select(e=pl.col("floor").replace_strict(grades, default=None, return_dtype=pl.String))["e"]
    return found(wrong, "grade_above_floor", "grade", value=pl.col("grade")).with_columns(
        expected=pl.format("{} or worse, or a reason", expected)
    )


def grade_without_cause(checks: pl.DataFrame, all_of: Lookup) -> pl.DataFrame:
    """Poor or worse has a damage, a state of a repair or a danger behind it; an old grade is only noted."""
    bad = checks.filter(pl.col("grade").is_in(list(vocabulary("grade").terms_where("needs_cause"))))
    seen = pl.concat([all_of(n).select("check_id") for n in ("observation", "repair_state")])
    bare = bad.join(seen, on="check_id", how="anti")
    bare = bare.join(all_of("danger_to_people").select("object_id"), on="object_id", how="anti")
    old = (
        pl.col("source").is_in(list(vocabulary("check_source").terms_where("legacy")))
        if "source" in bare.columns
        else pl.lit(value=False)
    )
    old = old.fill_null(value=False)
    return pl.concat(
        [
            found(bare.filter(~old), "grade_without_cause", "grade", value=pl.col("grade")),
            found(bare.filter(old), "legacy_grade", "grade", value=pl.col("grade")),
        ]
    )


LATE_RULES: tuple[LateRule, ...] = (open_damage_not_looked_at, grade_above_floor, grade_without_cause)


def deferred_problems(checks: pl.DataFrame, all_of: Lookup) -> pl.DataFrame:
    """Problems (`FOUND`) of accepted checks, once everything that came with them is known."""
    wanted = {"look", "checked_on_latest", "grade"} - set(checks.columns)
    whole = checks.with_columns(pl.lit(None, pl.Date if "on" in n else pl.String).alias(n) for n in wanted)
    return pl.concat([nothing(), *(rule(whole, all_of) for rule in LATE_RULES)])


def _rank(grade: pl.Expr) -> pl.Expr:
    """0 is best."""
    order = {term: n for n, term in enumerate(vocabulary("grade").term)}
    return grade.replace_strict(order, default=None, return_dtype=pl.Int64)


def _floor_of_damage(all_of: Lookup) -> pl.DataFrame:
    """check_id, floor: best grade allowed by each line; flaws of manufacture never count."""
    flaws = list(vocabulary("origin").terms_where("flaw"))
    damage = all_of("damage").filter(~pl.col("origin").is_in(flaws).fill_null(value=False)).select("damage_id", "kind")
    lines = all_of("observation").join(damage, on="damage_id")
    table = pl.DataFrame(_damage_table(), schema=["kind", "activity", "severity", "best"], orient="row")
    return lines.join(table, on=["kind", "activity", "severity"]).select("check_id", floor=_rank(pl.col("best")))


def _damage_table() -> list[tuple[str, str, str, str]]:
    floors, slow_above = (
        load_parameters("grade_floor")["grade_floor"],
        load_parameters("grade_floor")["active_row"]["slow_above_years"],
    )
    rates, activities = load_parameters("rates")["rate"], vocabulary("activity").term
    rows = []
    for kind, entry in vocabulary("damage").term.items():
        first = rates[(entry.get("rows_by_stage") or [kind])[-1]]
        for activity, its in activities.items():
            row = its.get("grade_row")
            if row is None and activity in first:
                row = its.get("grade_row_slow" if first[activity]["years"][1] > slow_above else "grade_row_fast")
            if row is None:
                continue
            rows += [(kind, activity, severity, best) for severity, best in floors[row].items()]
    return rows


def _floor_of_repairs(all_of: Lookup) -> pl.DataFrame:
    floors, stability = load_parameters("grade_floor")["grade_floor"], vocabulary("stability")
    failed = [(s, f, best) for s in stability.terms_where("failed") for f, best in floors["repair_failed"].items()]
    other = [(s, f, best) for s, best in floors["repair"].items() for f in vocabulary("repair_function").term]
    table = pl.DataFrame([*failed, *other], schema=["stability", "function", "best"], orient="row")
    lines = all_of("repair_state").join(all_of("repair").select("repair_id", "function"), on="repair_id")
    return lines.join(table, on=["stability", "function"]).select("check_id", floor=_rank(pl.col("best")))
