"""Hazards: one row for each thing that can cost an object material or legibility, every factor filled."""

import polars as pl

from collection.risk.extent import parts, reach, with_affected
from collection.risk.findings import findings
from collection.risk.namespace import Hold, Lazy, LazyFrames, Namespace, as_it_is, namespace
from collection.risk.rates import RatesTable
from collection.risk.reach import with_log_kept
from collection.risk.series import expm1
from schemas.records.catalogue import WHOLE

FIGURES = (
    "years_short", "years_likely", "years_long", "quiet_years", "quiet_factor", "modifier", "handling_rate",
    "planned_rate", "loss_rate", "mean_loss_rate", "part_share", "visibility", "affected_low", "affected_share",
    "affected_high", "left_share", "reach", "loss_depth", "loss_share", "log_kept", "mean_log_kept",
)  # fmt: skip
HAZARDS = pl.Schema(
    dict.fromkeys(
        ("hazard_id", "object_id", "part", "source", "term", "material", "state", "recorded_state"), pl.String
    )
    | {"rate_row": pl.Int32}
    | dict.fromkeys(("location_id", "climate_group", "check_id", "basis", "extent_basis"), pl.String)
    | {"seen_on": pl.Date}
    | dict.fromkeys(("sheds", "nested", "state_assumed", "share_assumed"), pl.Boolean)
    | dict.fromkeys(("area_estimated", "area_assumed"), pl.Boolean)
    | dict.fromkeys(FIGURES, pl.Float64)
)
OUTSIDE = pl.Schema(
    {"location_id": pl.String, "climate_group": pl.String, "check_id": pl.String, "modifier": pl.Float64}
)
HELD = pl.Schema({"object_id": pl.String})
# What the years without change in one state say of a hazard: see `collection.risk.quiet`.
QUIET = pl.Schema({"hazard_id": pl.String, "rate_row": pl.Int32, "quiet_years": pl.Float64, "quiet_factor": pl.Float64})


def hazards(f: LazyFrames, rates: RatesTable, outside: Lazy | None, hold: Hold = as_it_is) -> Lazy:
    """Hazards of all objects that are here, schema HAZARDS, of records cut to a day.

    Parameters
    ----------
    f : the records of `collection.store.engines.READ`, the tables of `rates`, and where there are any `moves` (schema
        MOVES), `held` (HELD: objects known to have stood within their target) and `quiet` (QUIET); `checks`, schema
        CHECKS, if they were put in order already.
    outside : schema OUTSIDE; a climate that did not change, or that nobody measured, has no row; None is no row at all.
    hold : how the engine keeps a frame that is read several times.

    Returns
    -------
    Lengths mm, areas mm², years, rates 1/year, shares of 1. A finding on the whole of an object with named parts gives
    a row for each of them. `nested`: it lies with a coating on one spot, see `collection.risk.reach`.
    """
    placed = reached(findings(f, rates), f, rates, hold)
    moved = _with_handling(_with_quiet(placed, f.get("quiet")), f.get("moves"))
    return with_loss(hold(_with_modifier(moved, outside)), rates.mean_of_range).select(*HAZARDS)


def reached(rows: Lazy, f: LazyFrames, rates: RatesTable, hold: Hold = as_it_is) -> Lazy:
    """Findings (columns FINDING of `collection.risk.findings`) on the parts of their objects, each with the figures of
    its row of the rates and how far it reaches.
    """
    xp = namespace(rows)
    placed = _on_parts(rows, hold(parts(f, rates)))
    rated = placed.join(f["rate"].drop("stood_in", "moving_years", "learned"), on="rate_row", how="left")
    banded = rated.join(f["rate_extent"], on="extent_band", how="left")
    return with_affected(banded, f["rate_extent"], rates).with_columns(
        hazard_id=xp.concat_str("finding_source", "finding_id", separator=":"),
        source="finding_source",
        reach=reach(xp),
        nested=_nested(xp),
    )


def hazard_id(source: str, key: str) -> pl.Expr:
    """The number of the hazard that a damage, repair or fragment of this number makes, `damage:D12`."""
    return pl.when(pl.col(key).is_not_null()).then(pl.format("{}:{}", pl.lit(source), key))


def _on_parts(rows: Lazy, parts: Lazy) -> Lazy:
    """Each finding on its part; one on the whole of an object with named parts on each part that carries enamel."""
    xp = namespace(rows)
    by_name = parts.with_columns(named="part")
    by_whole = parts.filter("spread").with_columns(part_area_mm2="whole_area_mm2", named=xp.lit(WHOLE))
    reached = xp.concat([by_name, by_whole]).drop("whole_area_mm2", "spread")
    return rows.rename({"part": "named"}).join(reached, on=["object_id", "named"], how="inner").drop("named")


def _nested(xp: Namespace) -> pl.Expr:
    """True for a coating, and for damage of glass or interface on a part that has one: they lie on one spot."""
    coated = xp.when(xp.col("coating")).then(1).otherwise(0).max().over("object_id", "part") > 0
    return xp.col("nests") & coated


def _with_modifier(rows: Lazy, outside: Lazy | None) -> Lazy:
    """Adds modifier [factor], what the climate since the check does to the rate: 1 where nothing is known."""
    xp = namespace(rows)
    if outside is None:
        return rows.with_columns(modifier=xp.lit(1.0))
    joined = rows.join(outside, on=["location_id", "climate_group", "check_id"], how="left")
    return joined.with_columns(xp.col("modifier").fill_null(1.0))


def _with_quiet(rows: Lazy, quiet: Lazy | None) -> Lazy:
    """Adds quiet_years [year] and quiet_factor: what those years say of the rate at rest; 1 where there are none."""
    xp = namespace(rows)
    if quiet is None:
        return rows.with_columns(quiet_years=xp.lit(0.0), quiet_factor=xp.lit(1.0))
    joined = rows.join(quiet, on=["hazard_id", "rate_row"], how="left")
    return joined.with_columns(xp.col("quiet_years").fill_null(0.0), xp.col("quiet_factor").fill_null(1.0))


def _with_handling(rows: Lazy, moves: Lazy | None) -> Lazy:
    """Adds handling_rate and planned_rate [1/year]: events a year from being moved, and from planned journeys alone."""
    xp = namespace(rows)
    if moves is None:
        return rows.with_columns(handling_rate=xp.lit(0.0), planned_rate=xp.lit(0.0))
    joined = rows.join(moves, on="object_id", how="left")
    resting = xp.col("at_rest")

    def each(name: str) -> pl.Expr:
        count = xp.when(resting).then(xp.col(f"{name}_at_rest")).otherwise(xp.col(f"{name}_moving"))
        return count.fill_null(0.0) * xp.col("chance_per_move")

    return joined.with_columns(handling_rate=each("moves"), planned_rate=each("planned"))


def with_loss(rows: Lazy, mean_of_range: float) -> Lazy:
    """Adds loss_rate [1/year] and its mean over the range of years, loss_share (of the reach, within 12 months),
    log_kept and, on the mean rate, mean_log_kept. `mean_of_range`: mean of a chance per move over the likely one.
    """
    xp = namespace(rows)
    at_rest = xp.col("modifier") * xp.col("quiet_factor")
    rate = at_rest / xp.col("years_likely") + xp.col("handling_rate")
    mean = at_rest * xp.col("mean_rate") + xp.col("handling_rate") * mean_of_range
    rated = (
        rows.with_columns(loss_rate=rate, mean_loss_rate=mean)
        .with_columns(exponent=-(xp.col("loss_rate") * xp.col("loss_depth")))
        .with_columns(loss_share=-expm1(xp, xp.col("exponent")))
    )
    likely = with_log_kept(rated, "loss_rate", "log_kept")
    return with_log_kept(likely, "mean_loss_rate", "mean_log_kept")
