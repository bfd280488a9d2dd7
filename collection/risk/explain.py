"""Why an object is ranked as it is: its hazards as rows, what each contributes, and the sentence a person would say."""

import narwhals as nw
import polars as pl

from collection.attention.facts import hazard_phrase, traits
from collection.frames import returns
from collection.risk.hazards import HAZARDS
from collection.risk.object_risk import Risk
from collection.risk.parameters import PERCENT
from collection.risk.rates import RatesTable
from collection.risk.series import expm1

EXPLAINED = pl.Schema({**HAZARDS, "contribution": pl.Float64(), "assumed": pl.String(), "words": pl.String()})
# Column that says so, and the words for what nobody had written down.
ASSUMED = {
    "state_assumed": "its state",
    "extent_assumed": "its extent",
    "share_assumed": "the part's share of value",
    "area_assumed": "the area of enamel",
}
c = pl.col


@returns(EXPLAINED)
def explain(object_id: str, hazards: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Hazards of one object, largest contribution first, schema EXPLAINED.

    contribution [fraction of annual_loss] sums to 1: the part's loss, shared within the part by log_kept. annual_loss
    is the sum over parts of part_share x (1 - exp(sum of log_kept)), and log_kept is
    log(1 - reach x (1 - exp(-loss_rate x loss_depth))): the rows alone give the number again. `assumed` names what
    nobody had written down.
    """
    mine = hazards.filter(c("object_id") == object_id).sort("part", "hazard_id")
    named = _with_loss(mine).join(traits(rates).select("rate_row", "what"), on="rate_row", how="left")
    contribution = (
        pl.when(c("expected_loss").sum() > 0).then(c("expected_loss") / c("expected_loss").sum()).otherwise(0.0)
    )
    worded = named.with_columns(contribution=contribution, assumed=_assumed(), words=_sentence(rates))
    return worded.select(*EXPLAINED).sort("contribution", "hazard_id", descending=[True, False])


def risk_summary(object_id: str, risk: Risk, rates: RatesTable) -> pl.DataFrame:
    """The risk row of one object with `words`: its loss if left, and beside it what nobody has looked at."""
    row = risk.objects.filter(c("object_id") == object_id)
    loss = pl.format("{} of this object's value a year, if left", _percent(c("annual_loss"), rates))
    nothing = (
        pl.when(c("last_checked_on").is_null())
        .then(pl.lit("nobody has looked at it"))
        .otherwise(pl.format("looked at {}, nothing found", "last_checked_on"))
    )
    unseen = pl.format("; beside it, {} a year from what nobody has seen", _percent(c("unseen_loss"), rates))
    some = c("unseen_loss") > 0
    words = pl.concat_str(
        pl.when(c("annual_loss") > 0).then(loss).otherwise(nothing),
        pl.when(some).then(unseen).otherwise(pl.lit("")),
        pl.when("value_assumed").then(pl.lit("; its value is assumed")).otherwise(pl.lit("")),
    )
    return row.with_columns(words=words)


def _with_loss(mine: pl.DataFrame) -> pl.DataFrame:
    """Adds expected_loss, what each hazard takes of the object's value within 12 months ; they sum to annual_loss."""
    of_part = nw.col("log_kept").sum().over("part")
    with_part = nw.from_native(mine).with_columns(part_log=of_part)
    loss = nw.col("part_share") * -expm1(nw.col("part_log")) * nw.col("log_kept") / nw.col("part_log")
    with_loss = with_part.with_columns(expected_loss=nw.when(nw.col("part_log") < 0).then(loss).otherwise(0.0))
    return with_loss.to_native()


def _assumed() -> pl.Expr:
    """What was assumed, as one text; empty where nothing was."""
    extent = c("extent_basis") == "assumed"
    flags = {flag: extent if flag not in HAZARDS else c(flag) for flag in ASSUMED}
    words = [pl.when(flags[flag]).then(pl.lit(words)) for flag, words in ASSUMED.items()]
    return pl.concat_str(*words, separator=", ", ignore_nulls=True)


def _sentence(rates: RatesTable) -> pl.Expr:
    """*active lifting on the gable plaque, seen 2024-05-02: about 1 % of the object's value a year; years 1 to 3*."""
    climate = pl.when(c("modifier") != 1).then(
        pl.format(", {} times as fast in its climate since", c("modifier").round(1))
    )
    moves = pl.when(c("handling_rate") > 0).then(
        pl.format(", and {} a year from moves", c("handling_rate").round_sig_figs(2))
    )
    return pl.concat_str(
        hazard_phrase(),
        pl.format(": {} of the object's value a year", _percent(c("expected_loss"), rates)),
        pl.format("; years {} to {} ({})", _years("years_short"), _years("years_long"), "basis"),
        climate.otherwise(pl.lit("")),
        moves.otherwise(pl.lit("")),
    )


def _percent(share: pl.Expr, rates: RatesTable) -> pl.Expr:
    """A share as per cent with two figures, in words a person would use."""
    percent, least = share * PERCENT, rates.scale.smallest_percent
    return (
        pl.when(percent < least)
        .then(pl.lit(f"less than {least} %"))
        .otherwise(pl.format("about {} %", percent.round_sig_figs(2)))
    )


def _years(name: str) -> pl.Expr:
    """Years without a needless decimal."""
    whole = c(name).round(0) == c(name)
    return pl.when(whole).then(c(name).cast(pl.Int64).cast(pl.String)).otherwise(c(name).round(1).cast(pl.String))
