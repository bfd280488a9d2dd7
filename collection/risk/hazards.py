"""Hazards: one row for each thing that can cost an object material or legibility, every factor filled."""

from datetime import date

import narwhals as nw
import polars as pl

from collection.risk.extent import parts, reach, with_affected
from collection.risk.rates import RatesTable
from collection.risk.series import Lazy, LazyFrames, expm1, log_left
from collection.snapshot import ENTRY_NO
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary


def checks_in_order(f: LazyFrames) -> Lazy:
    """Checks that no later one corrects, schema CHECKS; a check without a day is older than all others.

    `place_in_order` is their number in the order of the last day it can have been; of one day, in which they came.
    """
    checks = f["condition_check"]
    corrected = checks.filter(~nw.col("supersedes_check_id").is_null()).select(check_id="supersedes_check_id").unique()
    standing = checks.join(corrected, on="check_id", how="anti").select(
        "check_id",
        "object_id",
        "occasion",
        "visit",
        "look",
        "grade",
        "next_check_on",
        of_one_day=nw.coalesce(nw.col(ENTRY_NO), nw.lit(0)),
        longer=nw.col("check_id").str.len_chars(),  # C10 after C9, where nobody noted the order
        seen_on="checked_on_latest",
    )
    undated = nw.lit(date.min)  # a null would be put first or last, as the engine likes
    ordered = standing.with_columns(ordered_on=nw.coalesce(nw.col("seen_on"), undated))
    numbered = ordered.with_row_index("place_in_order", order_by=["ordered_on", "of_one_day", "longer", "check_id"])
    return numbered.drop("ordered_on", "of_one_day", "longer")


def open_damage(f: LazyFrames, checks: Lazy) -> Lazy:
    """Open damage with its state: what the latest line says, or not assessed where no line says anything.

    Closed damage and flaws of manufacture are left out; `state_assumed` says that nobody assessed the activity.
    """
    flaws, silent = vocabulary("origin").terms_where("flaw"), vocabulary("change").terms_where("says_nothing")
    damage = _open(f["damage"]).filter(nw.col("origin").is_null() | ~nw.col("origin").is_in(flaws))
    lines = f["observation"].filter(nw.col("change").is_null() | ~nw.col("change").is_in(silent))
    lines = lines.select("check_id", "damage_id", "extent_band", "area_mm2", *MEASURED, state="activity")
    (unsaid, *_) = vocabulary("activity").terms_where("not_assessed")
    return _with_latest(damage, lines, checks, "damage_id", unsaid).select(
        "object_id", "part", "visibility", *STATE, *MEASURED, damage_id="damage_id", term="kind"
    )


def open_repairs(f: LazyFrames, checks: Lazy) -> Lazy:
    """Repairs that were not removed, with their state in the latest check that speaks of them."""
    lines = f["repair_state"].select("check_id", "repair_id", "extent_band", "area_mm2", state="stability")
    (unsaid, *_) = vocabulary("stability").terms_where("not_assessed")
    return _with_latest(_open(f["repair"]), lines, checks, "repair_id", unsaid).select(
        "object_id", "part", "visibility", *STATE, "material", repair_id="repair_id", term="function"
    )


MEASURED = ("stage", "length_mm", "count", "measurement_error")
STATE = ("check_id", "seen_on", "state", "state_assumed", "extent_band", "area_mm2")


def _open(frame: Lazy) -> Lazy:
    return frame.filter(nw.col("closed_on").is_null())


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
HELD = pl.Schema({"object_id": pl.String})
CHECKS = pl.Schema(
    {"place_in_order": pl.Int64}
    | dict.fromkeys(("check_id", "object_id", "occasion", "visit", "look", "grade"), pl.String)
    | {"next_check_on": pl.Date, "seen_on": pl.Date}
)


def hazards(f: LazyFrames, rates: RatesTable, outside: Lazy | None) -> Lazy:
    """Hazards of all objects that are here, schema HAZARDS, of records cut to a day.

    Parameters
    ----------
    f : the records object, part, condition_check, damage, observation, repair, repair_state, the tables of `rates`, and
        where there are any `moves` (schema MOVES) and `held` (HELD: objects known to have stood within their target);
        `checks`, schema CHECKS, if they were put in order already.
    outside : schema OUTSIDE; a climate that did not change, or that nobody measured, has no row; None is no row at all.

    Returns
    -------
    Lengths mm, areas mm², years, rates 1/year, shares of 1. A finding on the whole of an object with named parts gives
    a row for each of them.
    """
    checks = f["checks"] if "checks" in f else checks_in_order(f)
    findings = nw.concat([_damage(f, checks), _repairs(f, checks)])
    placed = _on_parts(findings, parts(f, rates))
    rated = placed.join(f["rate"].drop("stood_in", "moving_years"), on="rate_row", how="left")
    banded = rated.join(f["rate_extent"], on="extent_band", how="left")
    reached = with_affected(banded, rates).with_columns(
        hazard_id=nw.concat_str("source", "finding_id", separator=":"), reach=reach()
    )
    return with_loss(_with_modifier(_with_handling(reached, f.get("moves")), outside)).select(*HAZARDS)


def hazard_id(source: str, key: str) -> pl.Expr:
    """The number of the hazard that a damage or repair of this number makes, `damage:D12`."""
    return pl.when(pl.col(key).is_not_null()).then(pl.format("{}:{}", pl.lit(source), key))


# The columns of a damage or repair that count; all else follows from its row of the rates.
FINDING = (
    "finding_id", "object_id", "part", "rate_row", "state_assumed", "check_id", "seen_on", "visibility", "extent_band",
    "length_mm", "area_mm2", "count", "measurement_error",
)  # fmt: skip


def _on_parts(findings: Lazy, parts: Lazy) -> Lazy:
    """Each finding on its part; one on the whole of an object with named parts on each part that carries enamel."""
    by_name = parts.with_columns(named="part")
    by_whole = parts.filter("spread").with_columns(part_area_mm2="whole_area_mm2", named=nw.lit(WHOLE))
    reached = nw.concat([by_name, by_whole]).drop("whole_area_mm2", "spread")
    return findings.rename({"part": "named"}).join(reached, on=["object_id", "named"], how="inner").drop("named")


def _damage(f: LazyFrames, checks: Lazy) -> Lazy:
    """Open damage; a dormant one whose climate is not known to have held is not assessed; stage 0: *not said*."""
    activity, kinds = vocabulary("activity"), vocabulary("damage").properties("rows_by_stage")
    (unsaid, *_) = activity.terms_where("not_assessed")
    staged = nw.col("term").is_in(list(kinds))
    damages = open_damage(f, checks).with_columns(
        stage=nw.when(staged).then(nw.coalesce(nw.col("stage"), nw.lit(0))).otherwise(0)
    )
    quiet = nw.col("state").is_in(activity.terms_where("needs_climate_held"))
    if "held" in f:
        known = damages.join(f["held"].select("object_id", held="object_id"), on="object_id", how="left")
        quiet, damages = quiet & nw.col("held").is_null(), known
    judged = damages.with_columns(state=nw.when(quiet).then(nw.lit(unsaid)).otherwise(nw.col("state")))
    return _with_rate_row(judged, f["rate_damage"], ["term", "stage", "state"], "damage_id")


def _repairs(f: LazyFrames, checks: Lazy) -> Lazy:
    """Open repairs; nobody measures the length of one or counts it."""
    empty = {"length_mm": nw.Float64, "measurement_error": nw.Float64, "count": nw.Int64}
    repairs = open_repairs(f, checks).with_columns(*(nw.lit(None).cast(t).alias(n) for n, t in empty.items()))
    return _with_rate_row(repairs, f["rate_repair"], ["term", "material", "state"], "repair_id")


def _with_rate_row(findings: Lazy, table: Lazy, keys: list[str], name: str) -> Lazy:
    """Each finding with its row of the rates: exactly one."""
    joined = findings.join(table, on=keys, how="left")
    assumed = nw.col("state_assumed") | nw.col("stood_in")
    return joined.with_columns(finding_id=name, visibility=_weight(), state_assumed=assumed).select(*FINDING)


def _weight() -> nw.Expr:
    """Weight of legibility of the visibility term; 1 where nobody said."""
    weight: nw.Expr = nw.lit(1.0)
    for term, its in vocabulary("visibility").properties("weight").items():
        weight = nw.when(nw.col("visibility") == term).then(float(its)).otherwise(weight)
    return weight


def _with_modifier(findings: Lazy, outside: Lazy | None) -> Lazy:
    """Adds modifier [factor], what the climate since the check does to the rate: 1 where nothing is known."""
    if outside is None:
        return findings.with_columns(modifier=nw.lit(1.0))
    joined = findings.join(outside, on=["location_id", "climate_group", "check_id"], how="left")
    return joined.with_columns(nw.col("modifier").fill_null(1.0))


def _with_handling(findings: Lazy, moves: Lazy | None) -> Lazy:
    """Adds handling_rate [1/year], events a year from being moved."""
    if moves is None:
        return findings.with_columns(handling_rate=nw.lit(0.0))
    joined = findings.join(moves, on="object_id", how="left")
    rate = nw.col("moves_per_year").fill_null(0.0) * nw.col("chance_per_move")
    return joined.with_columns(handling_rate=rate)


def with_loss(findings: Lazy) -> Lazy:
    """Adds loss_rate [1/year], loss_share (of the reach, within 12 months) and log_kept."""
    rate = nw.col("modifier") / nw.col("years_likely") + nw.col("handling_rate")
    return (
        findings.with_columns(loss_rate=rate)
        .with_columns(loss_share=-expm1(-(nw.col("loss_rate") * nw.col("loss_depth"))))
        .with_columns(log_kept=log_left(nw.col("reach") * nw.col("loss_share")))
    )
