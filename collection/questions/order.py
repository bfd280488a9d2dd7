"""The one order of every list of objects: on pages, in commands, on paper and in downloads."""

import polars as pl

from schemas.terms import Attention
from schemas.vocabularies import terms

FIGURES_COMPARED = 12  # sums differ between engines after this many significant figures


def in_order(objects: pl.DataFrame) -> pl.DataFrame:
    """Objects in the one order; columns attention, turn, collection_loss, unchecked_loss, value_share, object_id.

    By class, as attention.toml lists them; within a class what has its turn first (a danger to people, a loose
    fragment), then what the collection loses (collection_loss; of what nobody has checked with what may be lost there),
    then the number.
    """
    listed = {term: its.listed for term, its in terms("attention", Attention).items()}
    place = pl.col("attention").replace_strict(listed, default=len(listed), return_dtype=pl.Int64)
    unchecked = pl.col("unchecked_loss").fill_null(0.0) * pl.col("value_share")
    lost = pl.col("collection_loss").fill_null(0.0)
    both = pl.when(pl.col("last_checked_on").is_null()).then(lost + unchecked).otherwise(lost)
    keys = [key.round_sig_figs(FIGURES_COMPARED) for key in (both, unchecked)]
    return objects.sort(place, "turn", *keys, "object_id", descending=[False, False, True, True, False])


def classes_in_order() -> list[str]:
    """The classes of attention in the order lists show them."""
    listed = terms("attention", Attention)
    return sorted(listed, key=lambda term: listed[term].listed)
