"""The one order of every list of objects: on pages, in commands, on paper and in downloads."""

import polars as pl

from schemas.vocabularies import vocabulary

FIGURES_COMPARED = 12  # sums differ between engines after this many significant figures


def in_order(objects: pl.DataFrame) -> pl.DataFrame:
    """Objects in the one order; columns attention, annual_loss, unseen_loss [share of value a year], object_id.

    Classes that cannot wait come first, in their order; then the larger expected loss, then the larger loss that nobody
    would notice, then the number.
    """
    now = {term: place for place, term in enumerate(vocabulary("attention").terms_where("now"))}
    rank = pl.col("attention").replace_strict(now, default=len(now), return_dtype=pl.Int64)
    losses = [pl.col(name).fill_null(0.0).round_sig_figs(FIGURES_COMPARED) for name in ("annual_loss", "unseen_loss")]
    return objects.sort(rank, *losses, "object_id", descending=[False, True, True, False])
