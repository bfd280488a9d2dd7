"""Where things are: objects in places, places in each other, and the logger that tells of a place."""

import polars as pl

from collection.frames import returns
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

AIR = pl.Schema({"location_id": pl.String, "air": pl.String})
WITHIN = pl.Schema({"location_id": pl.String, "above": pl.String})
MOST_STEPS = 100  # places lie in each other no deeper than this, unless they lie in themselves


@returns(AIR)
def nearest_logger(locations: pl.DataFrame, hours: pl.DataFrame) -> pl.DataFrame:
    """The place whose readings tell of each place, schema AIR; places nobody measures have no row.

    A reading belongs to its place and all below it, down to the next with air or logger of its own.
    """
    measured = hours.select(pl.col("location_id").unique().alias("place"), measured=pl.lit(True))
    own = vocabulary("enclosure").terms_where("own_air")
    tree = locations.select(place="location_id", up="within", shut=pl.col("enclosure").is_in(own).fill_null(False))
    here = locations.select("location_id", place="location_id")
    measuring = [pl.DataFrame(schema=AIR)]
    for _ in range(MOST_STEPS):
        at = here.join(measured, on="place", how="left").join(tree, on="place", how="left")
        measuring.append(at.filter("measured").select("location_id", air="place"))
        onward = at.filter(pl.col("measured").is_null(), ~pl.col("shut"), pl.col("up").is_not_null())
        here = onward.select("location_id", place="up")
        if here.is_empty():
            break
    return pl.concat(measuring)


@returns(WITHIN)
def within(locations: pl.DataFrame) -> pl.DataFrame:
    """Each place with itself and every place it lies in, schema WITHIN; places within themselves end the walk."""
    up = locations.filter(pl.col("within").is_not_null()).select(above="location_id", next="within")
    step = locations.select("location_id", above="location_id")
    steps = [step]
    for _ in range(MOST_STEPS):
        step = step.join(up, on="above").select("location_id", above="next")
        if step.is_empty():
            break
        steps.append(step)
    return pl.concat(steps).unique()


def places(collection: Collection) -> pl.DataFrame:
    """Where each object is, and any part of it that is kept apart: object_id, location_id."""
    whole = collection["object"].select("object_id", "location_id")
    apart = collection["part"].select("object_id", "location_id")
    return pl.concat([whole, apart]).drop_nulls().unique()
