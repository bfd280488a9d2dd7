"""What happened to one object, on a time axis: looks, damage and repairs as seen, acts, decisions, moves."""

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from schemas.terms import RepairFunction
from schemas.vocabularies import terms, vocabulary

EVENTS = pl.Schema({"on": pl.Date(), "until": pl.Date()} | {n: pl.String() for n in ("lane", "what", "state", "mark")})
CHECKED, TREATED, MADE_SAFE, DECIDED, MOVED = "Checked", "Treated", "Made safe", "Decided", "Moved"
CHANGING, GONE, STILL, ACT = "something moves", "letting go, or has let go", "seen", "done or decided"


@returns(EVENTS)
def events(triage: Triage, object_id: str) -> pl.DataFrame:
    """Schema EVENTS, checks first, then damage, repairs and acts, each by day.

    `on` and `until` are the first and last day it can have been. `mark` says which of four kinds it is: something
    seen, something seen to move, a repair that lets go, something done or decided.
    """
    every = [_checks, _damage, _repairs, _treatments, _actions, _decisions, _moves]
    frames = [make(triage, object_id).select(_cast()).drop_nulls("on").sort("lane", "on", "what") for make in every]
    return pl.concat([pl.DataFrame(schema=EVENTS), *frames])


def _cast() -> list[pl.Expr]:
    return [pl.col(n).cast(t) for n, t in EVENTS.items()]


def _of(triage: Triage, record: str, object_id: str) -> pl.DataFrame:
    return triage.collection[record].filter(pl.col("object_id") == object_id)


def _label(name: str, column: str) -> pl.Expr:
    return pl.col(column).replace(vocabulary(name).labels()).fill_null("not said")


def _dates(name: str) -> dict[str, pl.Expr]:
    return {"on": pl.col(f"{name}_earliest"), "until": pl.col(f"{name}_latest")}


def _dated(triage: Triage, record: str) -> pl.DataFrame:
    """Rows of a record of checks, with the days of the check."""
    days = triage.collection["condition_check"].select("check_id", "checked_on_earliest", "checked_on_latest")
    return triage.collection[record].join(days, on="check_id")


def _checks(triage: Triage, object_id: str) -> pl.DataFrame:
    return _of(triage, "condition_check", object_id).select(
        **_dates("checked_on"),
        lane=pl.lit(CHECKED),
        what=pl.format("{}, {}", _label("look", "look"), _label("occasion", "occasion")),
        state=pl.format("grade: {}", _label("grade", "grade")),
        mark=pl.lit(STILL),
    )


def _damage(triage: Triage, object_id: str) -> pl.DataFrame:
    moving = list(vocabulary("activity").terms_where("moving"))
    mine = _of(triage, "damage", object_id).select("damage_id", "kind", "part")
    return (
        _dated(triage, "observation")
        .join(mine, on="damage_id")
        .select(
            **_dates("checked_on"),
            lane=pl.format("{}, {} ({})", _label("damage", "kind"), pl.col("part"), pl.col("damage_id")),
            what=pl.format("severity: {}", _label("severity", "severity")),
            state=_label("activity", "activity"),
            mark=pl.when(pl.col("activity").is_in(moving)).then(pl.lit(CHANGING)).otherwise(pl.lit(STILL)),
        )
    )


def _repairs(triage: Triage, object_id: str) -> pl.DataFrame:
    stability = vocabulary("stability")
    failing = [
        *stability.terms_where("lets_go"),
        *stability.terms_where("no_longer_works"),
        *stability.terms_where("does_harm"),
    ]
    mine = _of(triage, "repair", object_id).select("repair_id", "material", "function", "part")
    return (
        _dated(triage, "repair_state")
        .join(mine, on="repair_id")
        .select(
            **_dates("checked_on"),
            lane=pl.format("{}, {} ({})", _noun(), pl.col("part"), pl.col("repair_id")),
            what=_label("repair_material", "material"),
            state=_label("stability", "stability"),
            mark=pl.when(pl.col("stability").is_in(failing)).then(pl.lit(GONE)).otherwise(pl.lit(STILL)),
        )
    )


def _noun() -> pl.Expr:
    """What such a repair is called, with a capital."""
    nouns = {use: its.noun.capitalize() for use, its in terms("repair_function", RepairFunction).items()}
    return pl.col("function").replace_strict(nouns, default=pl.col("function"), return_dtype=pl.String)


def _treatments(triage: Triage, object_id: str) -> pl.DataFrame:
    steps = vocabulary("treatment_step").labels()
    return _of(triage, "treatment", object_id).select(
        on=pl.coalesce("started_on", "finished_on"),
        until=pl.coalesce("finished_on", "started_on"),
        lane=pl.lit(TREATED),
        what=pl.col("steps").list.eval(pl.element().replace(steps)).list.join(", ").fill_null("steps not recorded"),
        state=pl.col("treatment_id"),
        mark=pl.lit(ACT),
    )


def _actions(triage: Triage, object_id: str) -> pl.DataFrame:
    return _of(triage, "action", object_id).select(
        on="done_on",
        until="done_on",
        lane=pl.lit(MADE_SAFE),
        what=_label("action", "what"),
        state=pl.col("note"),
        mark=pl.lit(ACT),
    )


def _decisions(triage: Triage, object_id: str) -> pl.DataFrame:
    return _of(triage, "decision", object_id).select(
        on="decided_on",
        until="decided_on",
        lane=pl.lit(DECIDED),
        what=_label("choice", "choice"),
        state=pl.col("reason"),
        mark=pl.lit(ACT),
    )


def _moves(triage: Triage, object_id: str) -> pl.DataFrame:
    return _of(triage, "move", object_id).select(
        on="moved_on",
        until="moved_on",
        lane=pl.lit(MOVED),
        what=pl.format("to {}", pl.col("moved_to").fill_null("not said")),
        state=pl.col("reason"),
        mark=pl.lit(ACT),
    )
