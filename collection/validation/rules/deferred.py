"""Rules over several records that can only be judged when every sheet has been: they ask, and refuse nothing."""

from collections.abc import Callable

import polars as pl

from collection.validation.problems import ROW, no_problems, problems_of
from collection.validation.session import Session
from schemas.vocabularies import load_parameters, vocabulary

DeferredRule = Callable[[pl.DataFrame, Session], pl.DataFrame]
DEFERRED_RECORD = "condition_check"


def open_damage_not_looked_at(checks: pl.DataFrame, session: Session) -> pl.DataFrame:
    """An inspection has a line for each damage that is open."""
    close = vocabulary("look").terms_where("each_damage")
    looked = checks.filter(pl.col("look").is_in(list(close))).select(
        ROW, "check_id", "object_id", day="checked_on_latest"
    )
    known = session.rows("damage").select("object_id", "damage_id", "closed_on", "first_seen_on_earliest")
    due = looked.join(known, on="object_id").filter(
        pl.col("closed_on").is_null() | (pl.col("closed_on") > pl.col("day")),
        pl.col("first_seen_on_earliest").is_null() | (pl.col("first_seen_on_earliest") <= pl.col("day")),
    )
    bare = due.join(
        session.rows("observation").select("check_id", "damage_id"), on=["check_id", "damage_id"], how="anti"
    )
    return problems_of(
        bare.unique(ROW, maintain_order=True), "open_damage_not_looked_at", "check_id", value=pl.col("damage_id")
    )


def grade_above_floor(checks: pl.DataFrame, session: Session) -> pl.DataFrame:
    """The overall grade is the most serious single condition, unless a conservator says why not."""
    graded = checks.with_columns(mine=_rank(pl.col("grade"))).filter(pl.col("mine").is_not_null())
    reasoned = pl.col("grade_reason").is_not_null() if "grade_reason" in checks.columns else pl.lit(value=False)
    floors = (
        pl.concat([_floor_of_damage(session), _floor_of_repairs(session)])
        .drop_nulls()
        .group_by("check_id")
        .agg(pl.col("floor").max())
    )
    wrong = graded.filter(~reasoned).join(floors, on="check_id").filter(pl.col("mine") < pl.col("floor"))
    grades = dict(enumerate(vocabulary("grade").term))
    expected = wrong.select(e=pl.col("floor").replace_strict(grades, default=None, return_dtype=pl.String))["e"]
    return problems_of(wrong, "grade_above_floor", "grade", value=pl.col("grade")).with_columns(
        expected=pl.format("{} or worse, or a reason", expected)
    )


def grade_without_cause(checks: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Poor or worse has a damage, a state of a repair or a danger behind it; an old grade is only noted."""
    bad = checks.filter(pl.col("grade").is_in(list(vocabulary("grade").terms_where("needs_cause"))))
    seen = pl.concat([session.rows(n).select("check_id") for n in ("observation", "repair_state")])
    bare = bad.join(seen, on="check_id", how="anti")
    bare = bare.join(session.rows("danger_to_people").select("object_id"), on="object_id", how="anti")
    old = (
        pl.col("source").is_in(list(vocabulary("check_source").terms_where("legacy")))
        if "source" in bare.columns
        else pl.lit(value=False)
    )
    old = old.fill_null(value=False)
    return pl.concat(
        [
            problems_of(bare.filter(~old), "grade_without_cause", "grade", value=pl.col("grade")),
            problems_of(bare.filter(old), "legacy_grade", "grade", value=pl.col("grade")),
        ]
    )


DEFERRED_RULES: tuple[DeferredRule, ...] = (open_damage_not_looked_at, grade_above_floor, grade_without_cause)


def deferred_problems(checks: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Problems (`UNWORDED`) of accepted checks, once everything that came with them is known."""
    wanted = {"look", "checked_on_latest", "grade"} - set(checks.columns)
    whole = checks.with_columns(pl.lit(None, pl.Date if "on" in n else pl.String).alias(n) for n in wanted)
    return pl.concat([no_problems(), *(rule(whole, session) for rule in DEFERRED_RULES)])


def _rank(grade: pl.Expr) -> pl.Expr:
    """0 is best."""
    order = {term: n for n, term in enumerate(vocabulary("grade").term)}
    return grade.replace_strict(order, default=None, return_dtype=pl.Int64)


def _floor_of_damage(session: Session) -> pl.DataFrame:
    """check_id, floor: best grade allowed by each line; flaws of manufacture never count."""
    flaws, kinds = vocabulary("origin").terms_where("flaw"), vocabulary("damage").terms_where("flaw")
    by_making = pl.col("origin").is_in(flaws).fill_null(value=False) | pl.col("kind").is_in(kinds)
    damage = session.rows("damage").filter(~by_making).select("damage_id", "kind")
    lines = session.rows("observation").join(damage, on="damage_id")
    table = pl.DataFrame(_damage_table(), schema=["kind", "activity", "severity", "best"], orient="row")
    return lines.join(table, on=["kind", "activity", "severity"]).select("check_id", floor=_rank(pl.col("best")))


def _damage_table() -> list[tuple[str, str, str, str]]:
    """kind, activity, severity, best grade: the lower of what the activity and what the kind allows."""
    rows = []
    for kind in vocabulary("damage").term:
        best = _best_of_kind(kind)
        for activity in vocabulary("activity").term:
            for severity, floor in _floors(kind, activity).items():
                rows.append((kind, activity, severity, max(floor, best, key=_grades().index)))
    return rows


def _grades() -> list[str]:
    return list(vocabulary("grade").term)


def _best_of_kind(kind: str) -> str:
    """The best grade while this kind is open, whatever its activity; of stages the mildest."""
    table, staged = load_parameters("grade_floor")["best_by_kind"], vocabulary("damage").term[kind].get("rows_by_stage")
    rows = [staged[0]] if staged else [kind]
    return next((grade for grade, kinds in table.items() if set(rows) & set(kinds)), _grades()[0])


def _floors(kind: str, activity: str) -> dict[str, str]:
    """Severity to the best grade that this activity allows; empty where the kind has no rates or no such activity."""
    file, its = load_parameters("grade_floor"), vocabulary("activity").term[activity]
    staged = vocabulary("damage").term[kind].get("rows_by_stage") or [kind]
    first = load_parameters("rates")["rate"].get(staged[-1])
    if first is None:
        return {}
    row = its.get("grade_row")
    if row is None and activity in first:
        slow = first[activity]["years"][1] > file["active_row"]["slow_above_years"]
        row = its.get("grade_row_slow" if slow else "grade_row_fast")
    return dict(file["grade_floor"][row]) if row else {}


def _floor_of_repairs(session: Session) -> pl.DataFrame:
    floors, stability = load_parameters("grade_floor")["grade_floor"], vocabulary("stability")
    rows = [
        (state, use, best)
        for name in ("failing", "failed", "harmful")
        for state in stability.terms_where(name)
        for use, best in floors[f"repair_{name}"].items()
    ]
    table = pl.DataFrame(rows, schema=["stability", "function", "best"], orient="row")
    lines = session.rows("repair_state").join(session.rows("repair").select("repair_id", "function"), on="repair_id")
    return lines.join(table, on=["stability", "function"]).select("check_id", floor=_rank(pl.col("best")))
