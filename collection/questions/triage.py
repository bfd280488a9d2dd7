"""The ranked list: every object with its class of attention and first step, and reasons where they are asked for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import polars as pl

from collection.attention.classify import attention, reasons
from collection.questions.places import below
from collection.risk.object_risk import Risk
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

OBJECT_COLUMNS = [
    "object_id", "magnitude", "annual_loss", "unseen_loss", "chance_12_months", "collection_magnitude", "attention",
    "first_step", "reasons", "look", "assumed", "location_id", "last_checked_on",
]  # fmt: skip


@dataclass(frozen=True)
class Triage:
    """The collection assessed on one day. `classes`: object_id, attention, first_step."""

    collection: Collection
    risk: Risk
    rates: RatesTable
    classes: pl.DataFrame

    @property
    def as_of(self) -> date:
        """The day."""
        return self.risk.as_of

    @cached_property
    def objects(self) -> pl.DataFrame:
        """Every object in rank order, with class and first step."""
        return self.risk.objects.join(self.classes, on="object_id", how="left", maintain_order="left")

    @cached_property
    def places(self) -> frozenset[str]:
        """Places the register knows."""
        return frozenset(self.collection["location"]["location_id"])

    @cached_property
    def coverage(self) -> Mapping[str, int]:
        """objects, looked_at, never_seen: how much of the collection the figures are about."""
        looked = self.objects["last_checked_on"].len() - self.objects["last_checked_on"].null_count()
        return {"objects": self.objects.height, "looked_at": looked, "never_seen": self.objects.height - looked}

    @property
    def now(self) -> tuple[str, ...]:
        """Classes that cannot wait."""
        return vocabulary("attention").terms_where("now")

    @cached_property
    def by_class(self) -> pl.DataFrame:
        """attention, objects: counts in the order of the classes, zeros included."""
        order = pl.DataFrame({"attention": list(vocabulary("attention").term)})
        counts = self.objects.group_by("attention").agg(objects=pl.len().cast(pl.Int64))
        return order.join(counts, on="attention", how="left", maintain_order="left").with_columns(
            pl.col("objects").fill_null(0)
        )

    def setting(self, name: str) -> str:
        """What the museum has set; empty where it has set nothing."""
        kept = self.collection["setting"].filter(pl.col("name") == name)["value"]
        return str(kept[0]) if kept.len() else ""

    def matching(
        self, *, location: str | None = None, attention: str | None = None, seen: bool | None = None
    ) -> pl.DataFrame:
        """Objects that were asked for, in rank order."""
        rows = self.in_order
        if location is not None:
            rows = rows.filter(pl.col("location_id").is_in(below(self.collection["location"], location).implode()))
        if attention is not None:
            rows = rows.filter(pl.col("attention") == attention)
        if seen is not None:
            rows = rows.filter(pl.col("last_checked_on").is_not_null() == seen)
        return rows

    def listed(
        self, rows: pl.DataFrame | None = None, *, top: int | None = None, only: Sequence[str] | None = None
    ) -> pl.DataFrame:
        """Rows (else all, in rank order) with the reasons for their class."""
        rows = self.in_order if rows is None else rows
        if only is not None:
            rows = rows.filter(pl.col("object_id").is_in(list(only)))
        rows = rows if top is None else rows.head(top)
        told = reasons(self.classes, self.risk, self.collection, self.rates, rows["object_id"].to_list())
        return rows.join(told.select("object_id", "reasons"), on="object_id", how="left", maintain_order="left")

    @cached_property
    def told(self) -> pl.DataFrame:
        """object_id and reasons of every object: worked out once where a page lists them all."""
        everyone = self.objects["object_id"].to_list()
        return reasons(self.classes, self.risk, self.collection, self.rates, everyone).select("object_id", "reasons")

    @cached_property
    def in_order(self) -> pl.DataFrame:
        """As ranked: magnitude, largest first; those without one by unseen loss."""
        none = pl.col("magnitude").is_null()
        rest = self.objects.filter(none).sort("unseen_loss", "object_id", descending=[True, False], nulls_last=True)
        return pl.concat([self.objects.filter(~none), rest])


def triage(collection: Collection, rates: RatesTable, risk: Risk) -> Triage:
    """Classes of every object beside its risk."""
    return Triage(collection, risk, rates, attention(risk, collection, rates))
