"""What each object asks for now: exactly one class, its first step, and the facts that put it there."""

from collections.abc import Callable, Mapping, Sequence

import polars as pl

from collection.attention import rules as rules_later
from collection.attention import rules as rules_now
from collection.attention.facts import Facts
from collection.frames import returns
from collection.risk.object_risk import Risk
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.errors import VocabularyError
from schemas.terms import Attention
from schemas.vocabularies import terms

ATTENTION = pl.Schema({"object_id": pl.String, "attention": pl.String, "first_step": pl.String})
REASONS = pl.Schema({"object_id": pl.String(), "attention": pl.String(), "reasons": pl.List(pl.String)})
Rule = Callable[[Facts], pl.LazyFrame]
RULES: Mapping[str, Rule] = {
    rule.__name__: rule
    for rule in (
        rules_now.secure_now,
        rules_now.better_place_now,
        rules_now.not_yet_seen,
        rules_later.left_on_record,
        rules_later.above_the_line_and_sure,
        rules_later.look_again,
        rules_later.watch,
        rules_later.everything_else,
    )
}


def attention_classes() -> Mapping[str, Attention]:
    """The classes of attention in their order."""
    return terms("attention", Attention)


@returns(ATTENTION)
def attention(risk: Risk, collection: Collection, rates: RatesTable) -> pl.DataFrame:
    """Class and first step of every object, schema ATTENTION, in the order of `risk.objects`: the first rule decides.

    A rule is a function named in attention.toml that gives the objects it holds for, each with a reason; reasons
    are worked out only when asked for (`reasons`). Objects that are not here have the last class.
    """
    facts = Facts(collection, risk, rates)
    ordered = attention_classes()
    held = [rule(facts).select("object_id", place=pl.lit(n, pl.Int8)) for n, rule in enumerate(_rules()[:-1])]
    first = pl.concat(held).group_by("object_id").agg(pl.col("place").min())
    last = len(ordered) - 1
    place = pl.when("away").then(last).otherwise(pl.col("place").fill_null(last))
    named = facts.objects.join(first, on="object_id", how="left", maintain_order="left").select(
        "object_id", place=place.cast(pl.Int8)
    )
    words = pl.LazyFrame(
        {"attention": list(ordered), "first_step": [its.first_step for its in ordered.values()]}
    ).with_columns(place=pl.int_range(pl.len(), dtype=pl.Int8))
    return (
        named.join(words, on="place", how="left", maintain_order="left").select(*ATTENTION).collect(engine="in-memory")
    )


@returns(REASONS)
def reasons(
    classes: pl.DataFrame, risk: Risk, collection: Collection, rates: RatesTable, object_ids: Sequence[str]
) -> pl.DataFrame:
    """Why each of these objects has its class, schema REASONS: one sentence a fact, in order."""
    facts = Facts(collection, risk, rates, tuple(object_ids))
    mine = classes.filter(pl.col("object_id").is_in(object_ids)).select("object_id", "attention")
    there = set(mine["attention"].unique())
    reasoned = [
        rule(facts).select("object_id", "reason", attention=pl.lit(term))
        for term, rule in zip(attention_classes(), _rules(), strict=True)
        if term in there
    ]
    nothing = pl.LazyFrame(schema={"object_id": pl.String, "reason": pl.String, "attention": pl.String})
    joined = mine.lazy().join(pl.concat([nothing, *reasoned]), on=["object_id", "attention"], how="left")
    listed = joined.group_by("object_id", "attention").agg(reasons=pl.col("reason").drop_nulls().unique().sort())
    return listed.select(*REASONS).sort("object_id").collect(engine="in-memory")


def _rules() -> list[Rule]:
    """The rule of each class, in order."""
    wanted = [(term, its.rule) for term, its in attention_classes().items()]
    for term, name in wanted:
        if name not in RULES:
            raise VocabularyError(f"attention.toml, term.{term}.rule", f"there is no rule {name}", "", "Mend the file.")
    return [RULES[name] for _, name in wanted]
