"""Where the expected loss comes from: earlier repairs, damage, planned journeys, a climate grown worse."""

import polars as pl

from collection.frames import returns
from collection.risk.rate_rows import REPAIR

CAUSES = ("repairs", "damage", "journeys", "climate")
BY_CAUSE = pl.Schema({"object_id": pl.String()} | dict.fromkeys(CAUSES, pl.Float64()))
c = pl.col


@returns(BY_CAUSE)
def by_cause(hazards: pl.DataFrame, objects: pl.DataFrame) -> pl.DataFrame:
    """Expected loss of each object by its cause, on mean rates, schema BY_CAUSE.

    In shares of the collection's value a year. `hazards`: schema HAZARDS; `objects`: schema RISK. A hazard's loss is
    split as its rate is: what planned journeys add, what a climate worse than at the last check adds, and the rest to
    the repair or damage it comes from.
    """
    at_rest = c("quiet_factor") / c("years_likely")
    worse = pl.when(c("modifier") > 1).then((c("modifier") - 1) * at_rest).otherwise(0.0)
    journeys, climate = (pl.when(c("loss_rate") > 0).then(x / c("loss_rate")).otherwise(0.0).clip(0, 1)
                         for x in (c("planned_rate"), worse))  # fmt: skip
    split = hazards.select("object_id", "source", loss=loss_of_hazard(), planned=journeys, fed=climate)
    rest = c("loss") * (1 - c("planned") - c("fed"))
    repair = c("source") == REPAIR
    summed = split.group_by("object_id").agg(
        repairs=rest.filter(repair).sum(),
        damage=rest.filter(~repair).sum(),
        journeys=(c("loss") * c("planned")).sum(),
        climate=(c("loss") * c("fed")).sum(),
    )
    worth = objects.select("object_id", "value_share")
    joined = worth.join(summed, on="object_id", how="left")
    return joined.select("object_id", *(c(n).fill_null(0.0) * c("value_share") for n in CAUSES))


def loss_of_hazard() -> pl.Expr:
    """What each row, schema HAZARDS, is expected to take [share of the object's value a year], on mean rates."""
    log = c("mean_log_kept").sum().over("object_id", "part")
    of_part = c("part_share") * (1 - log.exp())
    return pl.when(log < 0).then(of_part * c("mean_log_kept") / log).otherwise(0.0)
