"""Hazards: one row for each thing that can cost an object material or legibility, every factor filled."""

from datetime import date

import narwhals as nw
import polars as pl

from collection.risk.extent import parts, reach, with_affected
from collection.risk.rates import RatesTable
from collection.risk.series import Lazy, LazyFrames, expm1, log_left
from schemas.vocabularies import vocabulary


def counted_checks(f: LazyFrames, as_of: date) -> Lazy:
    """Checks made by `as_of` that no later check corrects.

    Returns check_id, object_id, occasion, visit, look, next_check_on, seen_on and `place_in_order`, their number in the
    order (checked_on_latest, check_id).
    """
    checks = f["condition_check"].filter(nw.col("checked_on_earliest") <= nw.lit(as_of))
    corrected = checks.filter(~nw.col("supersedes_check_id").is_null()).select(check_id="supersedes_check_id").unique()
    kept = checks.join(corrected, on="check_id", how="anti").select(
        "check_id", "object_id", "occasion", "visit", "look", "next_check_on", seen_on="checked_on_latest"
    )
    return kept.with_row_index("place_in_order", order_by=["seen_on", "check_id"])


def open_damage(f: LazyFrames, checks: Lazy, as_of: date) -> Lazy:
    """Open damage with its state: what the latest line says, or not assessed where no line says anything.

    Damage closed by `as_of`, first seen after it, or a flaw of manufacture is left out; `state_assumed` says that
    nobody assessed the activity.
    """
    flaws, silent = vocabulary("origin").terms_where("flaw"), vocabulary("change").terms_where("says_nothing")
    damage = _open(f["damage"], as_of).filter(
        nw.col("origin").is_null() | ~nw.col("origin").is_in(flaws),
        nw.col("first_seen_on_earliest").is_null() | (nw.col("first_seen_on_earliest") <= nw.lit(as_of)),
    )
    lines = f["observation"].filter(nw.col("change").is_null() | ~nw.col("change").is_in(silent))
    lines = lines.select("check_id", "damage_id", "extent_band", "area_mm2", *MEASURED, state="activity")
    (unsaid, *_) = vocabulary("activity").terms_where("not_assessed")
    return _with_latest(damage, lines, checks, "damage_id", unsaid).select(
        "object_id", "part", "visibility", *STATE, *MEASURED, damage_id="damage_id", term="kind"
    )


def open_repairs(f: LazyFrames, checks: Lazy, as_of: date) -> Lazy:
    """Repairs not removed by `as_of`, with their state in the latest check that speaks of them."""
    lines = f["repair_state"].select("check_id", "repair_id", "extent_band", "area_mm2", state="stability")
    (unsaid, *_) = vocabulary("stability").terms_where("not_assessed")
    return _with_latest(_open(f["repair"], as_of), lines, checks, "repair_id", unsaid).select(
        "object_id", "part", "visibility", *STATE, "material", repair_id="repair_id", term="function"
    )


MEASURED = ("stage", "length_mm", "count", "measurement_error")
STATE = ("check_id", "seen_on", "state", "state_assumed", "extent_band", "area_mm2")


def _open(frame: Lazy, as_of: date) -> Lazy:
    return frame.filter(nw.col("closed_on").is_null() | (nw.col("closed_on") > nw.lit(as_of)))


def _with_latest(things: Lazy, lines: Lazy, checks: Lazy, key: str, unsaid: str) -> Lazy:
    """Each thing with its latest line; `unsaid` is the state where nobody wrote one."""
    placed = lines.join(checks.select("check_id", "seen_on", "place_in_order"), on="check_id", how="inner")
    newest = nw.col("place_in_order").max().over(key)
    last = placed.filter(nw.col("place_in_order") == newest).drop("place_in_order")
    return things.join(last, on=key, how="left").with_columns(
        nw.col("state").fill_null(unsaid), state_assumed=nw.col("state").is_null()
    )


FIGURES = (
    "years_short", "years_likely", "years_long", "modifier", "handling_rate", "loss_rate", "part_share", "visibility",
    "affected_low", "affected_share", "affected_high", "reach", "loss_depth", "loss_share", "log_kept",
)  # fmt: skip
HAZARDS = pl.Schema(
    dict.fromkeys(("hazard_id", "object_id", "part", "source", "term", "material", "state"), pl.String)
    | {"rate_row": pl.Int32}
    | dict.fromkeys(("location_id", "climate_group", "check_id", "basis", "extent_basis"), pl.String)
    | {"seen_on": pl.Date}
    | dict.fromkeys(("sheds", "state_assumed", "share_assumed", "area_assumed"), pl.Boolean)
    | dict.fromkeys(FIGURES, pl.Float64)
)
OUTSIDE = pl.Schema(
    {"location_id": pl.String, "climate_group": pl.String, "check_id": pl.String, "modifier": pl.Float64}
)
NOT_HELD = pl.Schema({"object_id": pl.String})


def hazards(f: LazyFrames, rates: RatesTable, outside: Lazy | None, as_of: date) -> Lazy:
    """Hazards of all objects that are here, schema HAZARDS, as known on `as_of`.

    Parameters
    ----------
    f : the records object, part, condition_check, damage, observation, repair, repair_state, the tables of `rates`, and
        where there are any `moves` (schema MOVES) and `not_held` (NOT_HELD: objects whose climate was not held since);
        `checks`, if `counted_checks` was worked out already.
    outside : schema OUTSIDE; a climate that did not change, or that nobody measured, has no row; None is no row at all.
    as_of : the day of the question.
    """
    checks = f["checks"] if "checks" in f else counted_checks(f, as_of)
    found = nw.concat([_damage(f, checks, as_of), _repairs(f, checks, as_of)])
    placed = found.join(parts(f, rates), on=["object_id", "part"], how="inner")
    rated = placed.join(f["rate"].drop("stood_in", "moving_years"), on="rate_row", how="left")
    banded = rated.join(f["rate_extent"], on="extent_band", how="left")
    reached = with_affected(banded, rates).with_columns(
        hazard_id=nw.concat_str("source", "found_id", separator=":"), reach=reach()
    )
    return with_loss(_with_modifier(_with_handling(reached, f.get("moves")), outside)).select(*HAZARDS)


# What is kept of a damage or repair; all else follows from its row of the rates.
FOUND = (
    "found_id", "object_id", "part", "rate_row", "state_assumed", "check_id", "seen_on", "visibility", "extent_band",
    "length_mm", "area_mm2", "count", "measurement_error",
)  # fmt: skip


def _damage(f: LazyFrames, checks: Lazy, as_of: date) -> Lazy:
    """Open damage; a dormant one whose climate was not held is not assessed, stage 0 is *not said*."""
    activity, kinds = vocabulary("activity"), vocabulary("damage").properties("rows_by_stage")
    (unsaid, *_) = activity.terms_where("not_assessed")
    staged = nw.col("term").is_in(list(kinds))
    found = open_damage(f, checks, as_of).with_columns(
        stage=nw.when(staged).then(nw.coalesce(nw.col("stage"), nw.lit(0))).otherwise(0)
    )
    if "not_held" in f:
        restless = nw.col("state").is_in(activity.terms_where("needs_climate_held")) & ~nw.col("woken").is_null()
        woken = found.join(f["not_held"].select("object_id", woken="object_id"), on="object_id", how="left")
        found = woken.with_columns(state=nw.when(restless).then(nw.lit(unsaid)).otherwise(nw.col("state")))
    return _with_rate_row(found, f["rate_damage"], ["term", "stage", "state"], "damage_id")


def _repairs(f: LazyFrames, checks: Lazy, as_of: date) -> Lazy:
    """Open repairs; nobody measures the length of one or counts it."""
    empty = {"length_mm": nw.Float64, "measurement_error": nw.Float64, "count": nw.Int64}
    found = open_repairs(f, checks, as_of).with_columns(*(nw.lit(None).cast(t).alias(n) for n, t in empty.items()))
    return _with_rate_row(found, f["rate_repair"], ["term", "material", "state"], "repair_id")


def _with_rate_row(found: Lazy, table: Lazy, keys: list[str], name: str) -> Lazy:
    """Each finding with its row of the rates: exactly one."""
    joined = found.join(table, on=keys, how="left")
    assumed = nw.col("state_assumed") | nw.col("stood_in")
    return joined.with_columns(found_id=name, visibility=_weight(), state_assumed=assumed).select(*FOUND)


def _weight() -> nw.Expr:
    """Weight of legibility of the visibility term; 1 where nobody said."""
    weight: nw.Expr = nw.lit(1.0)
    for term, its in vocabulary("visibility").properties("weight").items():
        weight = nw.when(nw.col("visibility") == term).then(float(its)).otherwise(weight)
    return weight


def _with_modifier(found: Lazy, outside: Lazy | None) -> Lazy:
    """Adds modifier [factor], what the climate since the check does to the rate: 1 where nothing is known."""
    if outside is None:
        return found.with_columns(modifier=nw.lit(1.0))
    joined = found.join(outside, on=["location_id", "climate_group", "check_id"], how="left")
    return joined.with_columns(nw.col("modifier").fill_null(1.0))


def _with_handling(found: Lazy, moves: Lazy | None) -> Lazy:
    """Adds handling_rate [1/year], events a year from being moved."""
    if moves is None:
        return found.with_columns(handling_rate=nw.lit(0.0))
    joined = found.join(moves, on="object_id", how="left")
    rate = nw.col("moves_per_year").fill_null(0.0) * nw.col("chance_per_move")
    return joined.with_columns(handling_rate=rate)


def with_loss(found: Lazy) -> Lazy:
    """Adds loss_rate [1/year], loss_share (of the reach, within 12 months) and log_kept."""
    rate = nw.col("modifier") / nw.col("years_likely") + nw.col("handling_rate")
    return (
        found.with_columns(loss_rate=rate)
        .with_columns(loss_share=-expm1(-(nw.col("loss_rate") * nw.col("loss_depth"))))
        .with_columns(log_kept=log_left(nw.col("reach") * nw.col("loss_share")))
    )
