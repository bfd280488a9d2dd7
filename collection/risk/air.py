"""Which readings tell of a place, what lies within what, and means over spans of hours."""

from collections.abc import Sequence

import polars as pl

from schemas.vocabularies import vocabulary

AIR = pl.Schema({"location_id": pl.String, "air": pl.String})
WITHIN = pl.Schema({"location_id": pl.String, "above": pl.String})


def air(locations: pl.DataFrame, hours: pl.DataFrame) -> pl.DataFrame:
    """The place whose readings tell of each place, schema AIR; places nobody measures have no row.

    A reading belongs to its place and all below it, down to the next with air or logger of its own.
    """
    measured = hours.select(pl.col("location_id").unique().alias("place"), measured=pl.lit(True))
    own = vocabulary("enclosure").having("own_air")
    tree = locations.select(place="location_id", up="within", shut=pl.col("enclosure").is_in(own).fill_null(False))
    here = locations.select("location_id", place="location_id")
    found = [pl.DataFrame(schema=AIR)]
    for _ in range(tree.height):
        at = here.join(measured, on="place", how="left").join(tree, on="place", how="left")
        found.append(at.filter("measured").select("location_id", air="place"))
        onward = at.filter(pl.col("measured").is_null(), ~pl.col("shut"), pl.col("up").is_not_null())
        here = onward.select("location_id", place="up")
        if here.is_empty():
            break
    return pl.concat(found)


def within(locations: pl.DataFrame) -> pl.DataFrame:
    """Each place with itself and every place it lies in, schema WITHIN."""
    up = locations.filter(pl.col("within").is_not_null()).select(above="location_id", next="within")
    step = locations.select("location_id", above="location_id")
    found = [step]
    for _ in range(locations.height):
        step = step.join(up, on="above").select("location_id", above="next")
        if step.is_empty():
            break
        found.append(step)
    return pl.concat(found).unique()


def summed(hours: pl.DataFrame, keys: Sequence[str], names: Sequence[str]) -> pl.DataFrame:
    """Running sums of `names` and of the hours, in each air: what `means` reads."""
    ordered = hours.sort(*keys, "hour")
    running = [pl.col(name).fill_null(0).cum_sum().over(keys) for name in names]
    return ordered.select(*keys, "hour", *running, n=pl.int_range(1, pl.len() + 1).over(keys)).sort("hour")


def means(asks: pl.DataFrame, sums: pl.DataFrame, keys: Sequence[str], first: str, last: str) -> pl.DataFrame:
    """`asks` (numbered by `ask`) with the mean of each summed name over the hours after day `first` through day `last`.

    `hours` counts them; means are null where there is none.
    """
    names = [name for name in sums.columns if name not in {*keys, "hour"}]
    ends = [_at(asks, sums, keys, day).select("ask", *(pl.col(n).alias(f"{n}_{side}") for n in names))
            for day, side in ((first, "before"), (last, "after"))]  # fmt: skip
    both = asks.join(ends[0], on="ask").join(ends[1], on="ask")
    gained = {n: pl.col(f"{n}_after").fill_null(0) - pl.col(f"{n}_before").fill_null(0) for n in names}
    some = pl.when(gained["n"] > 0).then(gained["n"])
    means_ = [(gained[name] / some).alias(name) for name in names if name != "n"]
    return both.select(*asks.columns, *means_, hours=gained["n"])


def _at(asks: pl.DataFrame, sums: pl.DataFrame, keys: Sequence[str], day: str) -> pl.DataFrame:
    """The running sums at the end of a day."""
    end = pl.col(day).cast(sums.schema["hour"]).dt.offset_by("1d")
    left = asks.select("ask", *keys, hour=end).sort("hour")
    return left.join_asof(
        sums, on="hour", by=list(keys), strategy="backward", allow_exact_matches=False, check_sortedness=False
    )
