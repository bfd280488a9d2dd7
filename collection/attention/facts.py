"""What the rules of attention look at: hazards with their properties, objects with what is known of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import polars as pl

from collection.frames import returns
from collection.risk.object_risk import Risk
from collection.risk.parameters import NeedsItsTarget, read
from collection.risk.placed import places
from collection.risk.rates import RatesTable
from collection.risk.unchecked import with_technique_key
from collection.snapshot import Collection
from schemas.terms import TermDefinition
from schemas.vocabularies import vocabulary

OF_KIND = ("secure", "secure_always", "isolate", "unstable_glass", "chloride", "lifts", "snags")
OF_ACTIVITY = ("moving", "one_sighting", "not_assessed", "not_compared", "needs_climate_held")
OF_USE = ("bears", "over_surface", "only_colour")
OF_STABILITY = ("no_longer_works", "lets_go", "does_harm", "ages")
TRAITS = pl.Schema(
    {"rate_row": pl.Int32, "what": pl.String, "fast": pl.Boolean}
    | dict.fromkeys((*OF_KIND, *OF_ACTIVITY, *OF_USE, *OF_STABILITY), pl.Boolean)
)


@returns(TRAITS)
def traits(rates: RatesTable) -> pl.DataFrame:
    """One row a row of the rates, schema TRAITS; `what` is its name in words, `fast` a kind that moves fast."""
    damage = _traits(rates.damage, ("damage", OF_KIND), ("activity", OF_ACTIVITY))
    repair = _traits(rates.repair, ("repair_function", OF_USE), ("stability", (*OF_STABILITY, "not_assessed")))
    both = pl.concat(
        [damage.with_columns(what=_damage_words()), repair.with_columns(what=_repair_words())], how="diagonal"
    )
    fast = pl.col("moving_years") <= rates.lines.fast_kind_years
    return both.with_columns(fast=fast).select(
        pl.col(n).fill_null(False) if t == pl.Boolean else n for n, t in TRAITS.items()
    )


def first_words(label: str) -> str:
    """A label as it stands within a sentence: up to its first comma, small."""
    return label.split(",")[0].lower()


def _traits(
    rows: pl.DataFrame, of_term: tuple[str, tuple[str, ...]], of_state: tuple[str, tuple[str, ...]]
) -> pl.DataFrame:
    term, state = (vocabulary(name).term for name, _ in (of_term, of_state))
    flags = [_flag(term, "term", name) for name in of_term[1]] + [_flag(state, "state", name) for name in of_state[1]]
    return rows.select(
        "rate_row",
        "moving_years",
        *flags,
        term_words=_words(term, "term"),
        state_words=_words(state, "state"),
        material_words=_words(vocabulary("repair_material").term, "material"),
    )


def _flag(terms: Mapping[str, TermDefinition], column: str, name: str) -> pl.Expr:
    return pl.col(column).is_in([term for term, its in terms.items() if getattr(its, name)]).alias(name)


def _words(terms: Mapping[str, TermDefinition], column: str) -> pl.Expr:
    words = {term: first_words(its.label) for term, its in terms.items()}
    return pl.col(column).replace_strict(words, default="")


def _damage_words() -> pl.Expr:
    return pl.format("{} {}", "state_words", "term_words")


def _repair_words() -> pl.Expr:
    return pl.format("{} repair that {} ({})", "state_words", "term_words", "material_words")


@dataclass(frozen=True)
class Facts:
    """Frames the rules read, of all objects or of those asked for."""

    collection: Collection
    risk: Risk
    rates: RatesTable
    only: Sequence[str] | None = None
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
        mine = frame if self.only is None else frame.filter(pl.col("object_id").is_in(self.only))
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
        held = self.mine(self.risk.hazards).filter(pl.col("rate_row").is_in(rows["rate_row"].to_list()))
        return held.join(rows.lazy(), on="rate_row", how="left")

    @cached_property
    def objects(self) -> pl.LazyFrame:
        """Risk rows with what the record and the last look say, and what the hazards add up to."""
        record = with_technique_key(self.of("object").collect(engine="in-memory")).select(
            "object_id",
            "technique_key",
            "base_metal",
            "provenance_class",
            "culture",
            "latest_year",
            "condition_remark",
            away=pl.col("status").is_in(vocabulary("object_status").terms_where("away")).fill_null(False),
            status="status",
            unstable=pl.col("glass_stability")
            .is_in(vocabulary("glass_stability").terms_where("unstable"))
            .fill_null(False),
        )
        look = self.risk.looks.lazy().select("object_id", "visit", "next_check_on")
        joined = self.mine(self.risk.objects).join(record.lazy(), on="object_id", how="left", maintain_order="left")
        looked = joined.join(look, on="object_id", how="left", maintain_order="left")
        shown = looked.join(self._shown.with_columns(on_display=pl.lit(value=True)), on="object_id", how="left")
        marked = shown.with_columns(pl.col("on_display").fill_null(value=False))
        return marked.collect(engine="in-memory").lazy()

    @property
    def _shown(self) -> pl.LazyFrame:
        """Objects seen where they are shown, and not moved since: object_id."""
        visits = vocabulary("visit").terms_where("on_display")
        seen = self.mine(self.risk.checks).filter(pl.col("visit").is_in(visits))
        last = seen.group_by("object_id").agg(pl.col("seen_on").max())
        moves = self.of("move").group_by("object_id").agg(pl.col("moved_on").max())
        both = last.join(moves, on="object_id", how="left")
        return both.filter(pl.col("moved_on").is_null() | (pl.col("moved_on") <= pl.col("seen_on"))).select("object_id")

    @cached_property
    def places(self) -> pl.LazyFrame:
        """Where each object is, and any part of it kept apart: object_id, location_id."""
        return self.mine(places(self.collection))

    @cached_property
    def targets(self) -> pl.LazyFrame:
        """Objects outside a reasoned target for more of the time than the line allows."""
        return self.mine(self.risk.targets).filter(pl.col("outside_share") > self.rates.lines.outside_share_of_time)

    @cached_property
    def needs_its_target(self) -> pl.LazyFrame:
        """Objects with unstable glass, chlorides, bare iron or organic parts: object_id."""
        metals = read(NeedsItsTarget, "lines", "needs_its_target").base_metal
        organic = vocabulary("part_kind").terms_where("organic")
        return pl.concat(
            [
                self.objects.filter(pl.col("unstable") | pl.col("base_metal").is_in(metals)).select("object_id"),
                self.where(pl.col("unstable_glass") | pl.col("chloride")).select("object_id"),
                self.of("part").filter(pl.col("part_kind").is_in(organic)).select("object_id"),
            ]
        ).unique()


def hazard_phrase() -> pl.Expr:
    """What a person would say of a hazard: *active lifting on the gable plaque, seen 2024-05-02*."""
    place = pl.when(pl.col("part_share") < 1).then(pl.format(" on the {}", "part")).otherwise(pl.lit(""))
    seen = (
        pl.when(pl.col("seen_on").is_null())
        .then(pl.lit(", never assessed"))
        .otherwise(pl.format(", seen {}", "seen_on"))
    )
    return pl.concat_str(pl.col("what"), place, seen)
