"""The state of each open damage and repair: its line in the latest check that says something about it."""

from datetime import date

import narwhals as nw

from collection.risk.frames import Lazy, LazyFrames
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
    flaws, silent = vocabulary("origin").having("flaw"), vocabulary("change").having("says_nothing")
    damage = _open(f["damage"], as_of).filter(
        nw.col("origin").is_null() | ~nw.col("origin").is_in(flaws),
        nw.col("first_seen_on_earliest").is_null() | (nw.col("first_seen_on_earliest") <= nw.lit(as_of)),
    )
    lines = f["observation"].filter(nw.col("change").is_null() | ~nw.col("change").is_in(silent))
    lines = lines.select("check_id", "damage_id", "extent_band", "area_mm2", *MEASURED, state="activity")
    (unsaid, *_) = vocabulary("activity").having("not_assessed")
    return _with_latest(damage, lines, checks, "damage_id", unsaid).select(
        "object_id", "part", "visibility", *STATE, *MEASURED, damage_id="damage_id", term="kind"
    )


def open_repairs(f: LazyFrames, checks: Lazy, as_of: date) -> Lazy:
    """Repairs not removed by `as_of`, with their state in the latest check that speaks of them."""
    lines = f["repair_state"].select("check_id", "repair_id", "extent_band", "area_mm2", state="stability")
    (unsaid, *_) = vocabulary("stability").having("not_assessed")
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
