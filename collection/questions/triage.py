"""The collection assessed on one day: objects with their class of attention and reasons, in the one order of lists."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import polars as pl

from collection.attention.classify import attention, reasons
from collection.risk.object_risk import Risk
from collection.risk.rates import RatesTable
from collection.settings import Settings, unusable
from collection.snapshot import Collection
from schemas.terms import Attention
from schemas.vocabularies import terms, vocabulary

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


@dataclass(frozen=True)
class Triage:
    """A collection cut to a day, and what follows from it. `classes`: schema ATTENTION of `attention.classify`."""

    collection: Collection
    risk: Risk
    rates: RatesTable
    classes: pl.DataFrame

    @classmethod
    def of(cls, collection: Collection, rates: RatesTable, risk: Risk) -> "Triage":
        """Classes of every object beside its risk."""
        return cls(collection, risk, rates, attention(risk, collection, rates))

    @property
    def as_of(self) -> date:
        """The day."""
        return self.risk.as_of

    @cached_property
    def settings(self) -> Settings:
        """What the museum has set."""
        return Settings.of(self.collection)

    @cached_property
    def warnings(self) -> list[str]:
        """A sentence for each stored setting that cannot be used."""
        return unusable(self.collection)

    @cached_property
    def objects(self) -> pl.DataFrame:
        """Every object in the one order (`in_order`): schema RISK, attention, turn."""
        return in_order(self.risk.objects.join(self.classes, on="object_id", how="left", maintain_order="left"))

    @cached_property
    def places(self) -> frozenset[str]:
        """Places the register knows."""
        return frozenset(self.collection["location"]["location_id"])

    def coverage(self, rows: pl.DataFrame | None = None) -> Mapping[str, int]:
        """objects, checked, not_checked: how many of the rows (else of all objects) somebody has checked."""
        rows = self.objects if rows is None else rows
        checked = rows["last_checked_on"].len() - rows["last_checked_on"].null_count()
        return {"objects": rows.height, "checked": checked, "not_checked": rows.height - checked}

    @property
    def now(self) -> tuple[str, ...]:
        """Classes that cannot wait."""
        return vocabulary("attention").terms_where("now")

    @cached_property
    def here(self) -> int:
        """Number of objects that are here: those the shares of value add up over."""
        return self.objects.filter(pl.col("value_share") > 0).height

    @cached_property
    def by_class(self) -> pl.DataFrame:
        """attention, objects: counts in the order of the list, zeros included."""
        order = pl.DataFrame({"attention": classes_in_order()})
        counts = self.objects.group_by("attention").agg(objects=pl.len().cast(pl.Int64))
        joined = order.join(counts, on="attention", how="left", maintain_order="left")
        return joined.with_columns(pl.col("objects").fill_null(0))

    def with_reasons(self, rows: pl.DataFrame) -> pl.DataFrame:
        """The rows with `reasons` and `steps`, lists of sentences: why each has its class, and what is done first."""
        known = vars(self).get("all_reasons")  # those of all, if a page lists them
        mine = self.reasons_of(rows["object_id"]) if known is None else known
        return rows.join(_listed(mine), on="object_id", how="left", maintain_order="left")

    def reasons_of(self, object_ids: pl.Series) -> pl.DataFrame:
        """Reasons of these objects, schema REASONS of `attention.classify`."""
        return reasons(self.classes, self.risk, self.collection, self.rates, object_ids.to_list())

    @cached_property
    def all_reasons(self) -> pl.DataFrame:
        """Reasons of every object: worked out once where a page lists them all."""
        return self.reasons_of(self.objects["object_id"])

    @cached_property
    def reasons_of_all(self) -> pl.DataFrame:
        """object_id, reasons, steps of every object."""
        return _listed(self.all_reasons)


def _listed(rows: pl.DataFrame) -> pl.DataFrame:
    """One row an object: its reasons, and its first steps each once, hardest first."""
    steps = pl.col("step").sort_by("step_no").drop_nulls().unique(maintain_order=True)
    sentences = pl.col("reason").unique(maintain_order=True)
    return rows.group_by("object_id", maintain_order=True).agg(reasons=sentences, steps=steps)
