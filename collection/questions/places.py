"""Places as a tree: what lies in what."""

import polars as pl


def below(locations: pl.DataFrame, location_id: str) -> pl.Series:
    """The place and every place that lies in it, however deep. Places that lie in each other are taken once."""
    found = pl.Series("location_id", [location_id])
    while True:
        inside = locations.filter(pl.col("within").is_in(found.implode()))["location_id"]
        fresh = inside.filter(~inside.is_in(found.implode()))
        if fresh.is_empty():
            return found
        found = pl.concat([found, fresh])
