"""Findings: open damage and repairs with what the latest check says of them, and fragments that lie loose."""

from datetime import date

import polars as pl

from collection.risk.namespace import Lazy, LazyFrames, Namespace, empty, namespace
from collection.risk.rate_rows import DAMAGE, FRAGMENT, OVER_UNSTABLE_GLASS, REPAIR
from collection.risk.rates import RatesTable
from collection.snapshot import ENTRY_NO
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

CHECKS = pl.Schema(
    {"place_in_order": pl.Int64}
    | dict.fromkeys(("check_id", "object_id", "occasion", "visit", "look", "grade", "dated"), pl.String)
    | {"next_check_on": pl.Date, "seen_on": pl.Date}
)
# The columns of a finding that count; all else follows from its row of the rates.
FINDING = (
    "finding_id", "finding_source", "object_id", "part", "rate_row", "state_assumed", "check_id", "seen_on",
    "visibility", "extent_band", "length_mm", "area_mm2", "count", "measurement_error", "harmed_mm2", "harmed_band",
    "recorded_state",
)  # fmt: skip
MEASURED = ("stage", "length_mm", "count", "measurement_error")
HARMED = ("harmed_mm2", "harmed_band", "harms")
STATE = ("check_id", "seen_on", "state", "state_assumed", "extent_band", "area_mm2")
TYPES: dict[str, type[pl.DataType]] = {
    "length_mm": pl.Float64, "measurement_error": pl.Float64, "count": pl.Int64, "harmed_mm2": pl.Float64,
    "harmed_band": pl.String, "harms": pl.String, "check_id": pl.String, "seen_on": pl.Date, "extent_band": pl.String,
    "visibility": pl.String,
}  # fmt: skip


def checks_in_order(f: LazyFrames) -> Lazy:
    """Checks that no later one corrects, schema CHECKS; a check without a day is older than all others.

    `place_in_order` is their number in the order of the last day it can have been; of one day, in which they came.
    `dated` is the day as it was written.
    """
    checks = f["condition_check"]
    xp = namespace(checks)
    corrected = checks.filter(~xp.col("supersedes_check_id").is_null()).select(check_id="supersedes_check_id").unique()
    standing = checks.join(corrected, on="check_id", how="anti").select(
        "check_id",
        "object_id",
        "occasion",
        "visit",
        "look",
        "grade",
        "next_check_on",
        dated="checked_on",
        of_one_day=xp.coalesce(xp.col(ENTRY_NO), xp.lit(0)),
        longer=xp.col("check_id").str.len_chars(),  # C10 after C9, where nobody noted the order
        seen_on="checked_on_latest",
    )
    undated = xp.lit(date.min)  # a null would be put first or last, as the engine likes
    ordered = standing.with_columns(ordered_on=xp.coalesce(xp.col("seen_on"), undated), one=xp.lit(1).cast(xp.Int64))
    number = xp.col("one").cum_sum().over(order_by=["ordered_on", "of_one_day", "longer", "check_id"])
    return ordered.with_columns(place_in_order=number - 1).select(*CHECKS)


def findings(f: LazyFrames, rates: RatesTable) -> Lazy:
    """Every finding that makes a hazard, columns FINDING, each with exactly one row of the rates."""
    checks = f["checks"] if "checks" in f else checks_in_order(f)
    xp = namespace(checks)
    return xp.concat([_damage(f, checks), _repairs(f, checks, rates), _fragments(f)])


def open_damage(f: LazyFrames, checks: Lazy) -> Lazy:
    """Open damage with its state: what the latest line says, or not assessed where no line says anything.

    Closed damage, flaws of manufacture (by their origin or their kind), and what only a remark says and a later
    inspection did not confirm are left out (`unconfirmed` lists those); `state_assumed` says that nobody assessed the
    activity.
    """
    known = _damage_with_state(f, checks)
    xp = namespace(known)
    return known.filter(~_only_remarked(xp)).select(
        "object_id", "part", "visibility", *STATE, *MEASURED, damage_id="damage_id", term="kind"
    )


def unconfirmed(f: LazyFrames, checks: Lazy) -> Lazy:
    """Open damage that only a remark tells of and that a later inspection of the object has no line for.

    damage_id, object_id, kind, check_id (of the remark).
    """
    xp = namespace(checks)
    return _damage_with_state(f, checks).filter(_only_remarked(xp)).select("damage_id", "object_id", "kind", "check_id")


def open_repairs(f: LazyFrames, checks: Lazy) -> Lazy:
    """Repairs that were not removed, with their state in the latest check that speaks of them."""
    xp = namespace(checks)
    lines = f["repair_state"].select("check_id", "repair_id", "extent_band", "area_mm2", *HARMED, state="stability")
    (unsaid, *_) = vocabulary("stability").terms_where("not_assessed")
    repairs = _open(f["repair"]).rename({"area_mm2": "whole_mm2"})
    known = _with_latest(repairs, lines, checks, "repair_id", unsaid)
    return known.with_columns(area_mm2=xp.coalesce("area_mm2", "whole_mm2")).select(
        "object_id", "part", "visibility", *STATE, *HARMED, "material", repair_id="repair_id", term="function"
    )


def _damage_with_state(f: LazyFrames, checks: Lazy) -> Lazy:
    xp = namespace(checks)
    flaws, silent = vocabulary("origin").terms_where("flaw"), vocabulary("change").terms_where("says_nothing")
    by_kind = xp.col("kind").is_in(vocabulary("damage").terms_where("flaw"))
    damage = _open(f["damage"]).filter(xp.col("origin").is_null() | ~xp.col("origin").is_in(flaws), ~by_kind)
    lines = f["observation"].filter(xp.col("change").is_null() | ~xp.col("change").is_in(silent))
    lines = lines.select("check_id", "damage_id", "extent_band", "area_mm2", *MEASURED, state="activity")
    (unsaid, *_) = vocabulary("activity").terms_where("not_assessed")
    known = _with_latest(damage, lines, checks, "damage_id", unsaid)
    return known.join(_last_inspected(checks), on="object_id", how="left")


def _last_inspected(checks: Lazy) -> Lazy:
    """object_id and the place in order of the last check that had a line for each damage it saw."""
    xp = namespace(checks)
    looks, visits = vocabulary("look").terms_where("each_damage"), vocabulary("visit").terms_where("reached")
    whole = checks.filter(xp.col("look").is_in(looks), xp.col("visit").is_null() | xp.col("visit").is_in(visits))
    return whole.group_by("object_id").agg(inspected=xp.col("place_in_order").max())


def _only_remarked(xp: Namespace) -> pl.Expr:
    remarks = vocabulary("look").terms_where("from_catalogue")
    later = xp.col("inspected") > xp.col("place_in_order")
    return xp.col("look").is_in(remarks).fill_null(False) & later.fill_null(False)


def _open(frame: Lazy) -> Lazy:
    xp = namespace(frame)
    return frame.filter(xp.col("closed_on").is_null())


def _with_latest(things: Lazy, lines: Lazy, checks: Lazy, key: str, unsaid: str) -> Lazy:
    """Each thing with its latest line; `unsaid` is the state where nobody wrote one."""
    xp = namespace(things)
    placed = lines.join(checks.select("check_id", "seen_on", "look", "place_in_order"), on="check_id", how="inner")
    newest = xp.col("place_in_order").max().over(key)
    last = placed.filter(xp.col("place_in_order") == newest)
    return things.join(last, on=key, how="left").with_columns(
        xp.col("state").fill_null(unsaid), state_assumed=xp.col("state").is_null()
    )


def _damage(f: LazyFrames, checks: Lazy) -> Lazy:
    """Open damage of kinds that make a hazard; stage 0: *not said*.

    A dormant one whose climate is not known to have held is not assessed.
    """
    xp = namespace(checks)
    activity, kinds = vocabulary("activity"), vocabulary("damage").properties("rows_by_stage")
    (unsaid, *_) = activity.terms_where("not_assessed")
    staged = xp.col("term").is_in(list(kinds))
    harmless = xp.col("term").is_in(vocabulary("damage").terms_where("no_hazard"))
    costing = open_damage(f, checks).filter(~harmless)
    damages = costing.with_columns(stage=xp.when(staged).then(xp.coalesce(xp.col("stage"), xp.lit(0))).otherwise(0))
    quiet = xp.col("state").is_in(activity.terms_where("needs_climate_held"))
    if "held" in f:
        known = damages.join(f["held"].select("object_id", held="object_id"), on="object_id", how="left")
        quiet, damages = quiet & xp.col("held").is_null(), known
    judged = damages.with_columns(
        recorded_state="state", state=xp.when(quiet).then(xp.lit(unsaid)).otherwise(xp.col("state"))
    )
    return _with_rate_row(_empty(judged, HARMED), f["rate_damage"], ["term", "stage", "state"], DAMAGE, "damage_id")


def _repairs(f: LazyFrames, checks: Lazy, rates: RatesTable) -> Lazy:
    """Open repairs; a few states have a row of their own over unstable glass.

    One said to do harm of which nobody wrote where counts as the state that its term names instead.
    """
    xp = namespace(checks)
    repairs = _empty(open_repairs(f, checks), ("length_mm", "measurement_error", "count"))
    repairs = _without_extent(repairs, f)
    unstable = vocabulary("glass_stability").terms_where("unstable")
    over = f["object"].filter(xp.col("glass_stability").is_in(unstable)).select("object_id", over=xp.lit(True))
    differs = xp.lit(False)
    for term, state in rates.differs_over_unstable_glass:
        differs = differs | ((xp.col("term") == term) & (xp.col("state") == state))
    staged = repairs.join(over, on="object_id", how="left").with_columns(
        stage=xp.when(differs & xp.col("over").fill_null(False)).then(OVER_UNSTABLE_GLASS).otherwise(0)
    )
    return _with_rate_row(staged, f["rate_repair"], ["term", "material", "state", "stage"], REPAIR, "repair_id")


def _without_extent(repairs: Lazy, f: LazyFrames) -> Lazy:
    """Adds recorded_state; state becomes another where no harmed area, harmed damage or damage beneath is on record."""
    xp = namespace(repairs)
    beneath = vocabulary("damage").terms_where("beneath")
    below = _open(f["damage"]).filter(xp.col("kind").is_in(beneath)).select("object_id", "part").unique()
    joined = repairs.join(below.with_columns(below=xp.lit(True)), on=["object_id", "part"], how="left")
    nowhere = xp.coalesce("harmed_band", "harms").is_null() & xp.col("harmed_mm2").is_null() & xp.col("below").is_null()
    state = xp.col("state")
    for term, instead in vocabulary("stability").properties("without_extent").items():
        state = xp.when(nowhere & (xp.col("state") == term)).then(xp.lit(instead)).otherwise(state)
    return joined.with_columns(recorded_state="state", state=state)


def _fragments(f: LazyFrames) -> Lazy:
    """Pieces that lie loose in their place: nobody assessed them."""
    xp = namespace(f["fragment"])
    kinds = vocabulary("fragment_status").properties("hazard_kind")
    kind = empty(xp, pl.String)
    for status, of_kind in kinds.items():
        kind = xp.when(xp.col("status") == status).then(xp.lit(of_kind)).otherwise(kind)
    pieces = f["fragment"].filter(xp.col("status").is_in(list(kinds)))
    (unsaid, *_) = vocabulary("activity").terms_where("not_assessed")
    named = pieces.select(
        "fragment_id", "object_id", "area_mm2", "from_damage_id",
        term=kind, stage=xp.lit(0), state=xp.lit(unsaid), part=xp.coalesce(xp.col("part"), xp.lit(WHOLE)),
        state_assumed=xp.lit(True), recorded_state=xp.lit(unsaid),
    )  # fmt: skip
    of_damage = _open(f["damage"]).select(from_damage_id="damage_id", term="kind")
    alone = named.join(of_damage, on=["from_damage_id", "term"], how="anti")  # else the damage is the hazard
    names = ("length_mm", "measurement_error", "count", "check_id", "seen_on", "extent_band", "visibility", *HARMED)
    filled = _empty(alone, names)
    return _with_rate_row(filled, f["rate_damage"], ["term", "stage", "state"], FRAGMENT, "fragment_id")


def _empty(frame: Lazy, names: tuple[str, ...]) -> Lazy:
    xp = namespace(frame)
    return frame.with_columns(*(empty(xp, TYPES[name]).alias(name) for name in names))


def _with_rate_row(rows: Lazy, table: Lazy, keys: list[str], source: str, name: str) -> Lazy:
    """Each finding with its row of the rates: exactly one."""
    xp = namespace(rows)
    joined = rows.join(table, on=keys, how="left")
    assumed = xp.col("state_assumed") | xp.col("stood_in")
    return joined.with_columns(
        finding_id=name, finding_source=xp.lit(source), visibility=_weight(xp), state_assumed=assumed
    ).select(*FINDING)


def _weight(xp: Namespace) -> pl.Expr:
    """Weight of legibility of the visibility term; 1 where nobody said."""
    weight: pl.Expr = xp.lit(1.0)
    for term, its in vocabulary("visibility").properties("weight").items():
        weight = xp.when(xp.col("visibility") == term).then(float(its)).otherwise(weight)
    return weight
