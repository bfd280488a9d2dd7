"""What the rules of attention look at: hazards with their properties, objects with what is known of them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import polars as pl

from collection.facts.traits import traits
from collection.risk.handling import loans_ahead
from collection.risk.kinds import with_technique_key
from collection.risk.object_risk import Risk
from collection.risk.parameters import NeedsItsTarget, read
from collection.risk.placed import places, within
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

c = pl.col
OF_OBJECT = ("base_metal", "provenance_class", "culture", "earliest_year", "latest_year", "condition_remark", "status",
             "glass_stability")  # fmt: skip


@dataclass(frozen=True)
class Facts:
    """Frames the rules read, of all objects or of those asked for.

    worded : reasons are wanted, not classes alone. loan_id : the loan a journey is asked about, else the next of each.
    """

    collection: Collection
    risk: Risk
    rates: RatesTable
    only: Sequence[str] | None = None
    worded: bool = False
    loan_id: str | None = None
    cached: dict[str, pl.LazyFrame] = field(default_factory=dict)

    @property
    def as_of(self) -> date:
        """The day of the question."""
        return self.risk.as_of

    def of(self, record: str) -> pl.LazyFrame:
        """Live rows of a record that belong to the objects asked for."""
        return self.mine(self.collection[record])

    def mine(self, frame: pl.DataFrame) -> pl.LazyFrame:
        """The rows of the objects asked for."""
        mine = frame if self.only is None else frame.filter(c("object_id").is_in(self.only))
        return mine.lazy()

    @cached_property
    def traits(self) -> pl.DataFrame:
        """Properties of the terms behind each row of the rates, schema TRAITS."""
        return traits(self.rates)

    @cached_property
    def hazards(self) -> pl.LazyFrame:
        """Hazards with the properties of their terms."""
        return self.mine(self.risk.hazards).join(self.traits.lazy(), on="rate_row", how="left")

    def where(self, rule: pl.Expr) -> pl.LazyFrame:
        """Hazards for which a rule on their properties holds; asked of the rows of the rates, which are few."""
        rows = self.traits.filter(rule)
        held = self.mine(self.risk.hazards).filter(c("rate_row").is_in(rows["rate_row"].to_list()))
        return held.join(rows.lazy(), on="rate_row", how="left")

    @cached_property
    def objects(self) -> pl.LazyFrame:
        """Risk rows with what the record and the last check say, and what the hazards add up to."""
        record = with_technique_key(self.of("object").collect(engine="in-memory")).select(
            "object_id", "technique_key", *OF_OBJECT,
            away=c("status").is_in(vocabulary("object_status").terms_where("away")).fill_null(False),
            unstable=c("glass_stability").is_in(vocabulary("glass_stability").terms_where("unstable")).fill_null(False),
        )  # fmt: skip
        look = self.risk.looks.lazy().select("object_id", "visit", "grade", "next_check_on")
        joined = self.mine(self.risk.objects).join(record.lazy(), on="object_id", how="left", maintain_order="left")
        looked = joined.join(look, on="object_id", how="left", maintain_order="left")
        shown = looked.join(self._shown.with_columns(on_display=pl.lit(value=True)), on="object_id", how="left")
        marked = shown.with_columns(c("on_display").fill_null(value=False))
        return marked.collect(engine="in-memory").lazy()

    @property
    def _shown(self) -> pl.LazyFrame:
        """Objects in a display case, or seen through its glass and not moved since: object_id."""
        cases = self.collection["location"].filter(c("kind").is_in(vocabulary("location_kind").terms_where("shows")))
        inside = within(self.collection["location"]).filter(c("above").is_in(cases["location_id"].implode()))
        by_place = self.places.join(inside.lazy().select("location_id").unique(), on="location_id").select("object_id")
        visits = vocabulary("visit").terms_where("on_display")
        seen = self.mine(self.risk.checks).filter(c("visit").is_in(visits))
        last = seen.group_by("object_id").agg(c("seen_on").max())
        moves = self.of("move").group_by("object_id").agg(c("moved_on").max())
        both = last.join(moves, on="object_id", how="left")
        still = both.filter(c("moved_on").is_null() | (c("moved_on") <= c("seen_on"))).select("object_id")
        return pl.concat([by_place, still]).unique()

    @cached_property
    def places(self) -> pl.LazyFrame:
        """Where each object is, and any part of it kept apart: object_id, location_id."""
        return self.mine(places(self.collection))

    @cached_property
    def targets(self) -> pl.LazyFrame:
        """Objects outside a reasoned target for more of the time than the line allows."""
        return self.mine(self.risk.targets).filter(c("outside_share") > self.rates.lines.outside_share_of_time)

    @cached_property
    def needs_its_target(self) -> pl.LazyFrame:
        """Objects with unstable glass, chlorides, bare iron or organic parts: object_id."""
        metals = read(NeedsItsTarget, "lines", "needs_its_target").base_metal
        bare = self.where(c("bares_metal")).select("object_id").unique()
        organic = vocabulary("part_kind").terms_where("organic")
        return pl.concat(
            [
                self.objects.filter("unstable").select("object_id"),
                self.objects.filter(c("base_metal").is_in(metals)).join(bare, on="object_id").select("object_id"),
                self.where(c("unstable_glass") | c("chloride")).select("object_id"),
                self.of("part").filter(c("part_kind").is_in(organic)).select("object_id"),
            ]
        ).unique()

    @cached_property
    def leaves(self) -> pl.LazyFrame:
        """Objects of the loan asked about, else of the next that begins after the day: object_id, loan_id, leaves_on.

        leaves_on: the first day of its first venue, of the next loan the first that is still to come. promised:
        somebody has said yes, or nobody noted how far the loan is.
        """
        legs, asked = self.collection["loan_leg"].lazy(), self.of("loan_object").select("object_id", "loan_id").unique()
        if self.loan_id is not None:
            first = legs.group_by("loan_id").agg(leaves_on=c("starts_on").min())
            mine = asked.filter(c("loan_id") == self.loan_id).join(first, on="loan_id", how="left")
            return mine.join(loans_ahead(self.collection), on="loan_id", how="left")
        ahead = legs.filter(c("starts_on") > self.as_of).join(loans_ahead(self.collection), on="loan_id")
        next_leg = ahead.group_by("loan_id").agg(leaves_on=c("starts_on").min(), promised=c("promised").first())
        rows = asked.join(next_leg, on="loan_id").sort(~c("promised"), "leaves_on", "loan_id")
        return rows.unique("object_id", keep="first", maintain_order=True)

    @property
    def promised(self) -> pl.LazyFrame:
        """Those of `leaves` that somebody promised."""
        return self.leaves.filter("promised")
