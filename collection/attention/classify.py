"""What each object asks for now: exactly one class, and the reasons that put it there, each with its first step."""

from collections.abc import Callable, Mapping, Sequence

import polars as pl

from collection.attention import rules
from collection.attention.first_steps import with_step
from collection.facts.facts import Facts
from collection.facts.wording import DANGER, REASON
from collection.frames import returns
from collection.risk.object_risk import Risk
from collection.risk.rate_rows import FRAGMENT
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.errors import VocabularyError
from schemas.terms import Attention
from schemas.vocabularies import terms

ATTENTION = pl.Schema({"object_id": pl.String, "attention": pl.String, "turn": pl.Int8})
REASONS = pl.Schema({**REASON, "attention": pl.String(), "step_no": pl.Int32(), "step": pl.String()})
Rule = Callable[[Facts], pl.LazyFrame]
RULES: Mapping[str, Rule] = {
    rule.__name__: rule
    for rule in (
        rules.secure_it,
        rules.move_it,
        rules.leaves_unfit,
        rules.made_safe,
        rules.not_checked,
        rules.left,
        rules.treat,
        rules.check_again,
        rules.monitor,
        rules.everything_else,
    )
}
TURNS = (DANGER, FRAGMENT)  # reasons that come first within a class; a hazard_id begins with them
c = pl.col


def attention_classes() -> Mapping[str, Attention]:
    """The classes of attention in their order."""
    return terms("attention", Attention)


@returns(ATTENTION)
def attention(risk: Risk, collection: Collection, rates: RatesTable) -> pl.DataFrame:
    """Class of every object, schema ATTENTION, in the order of `risk.objects`: the first rule that holds decides.

    turn orders the objects of a class before their loss does: a danger to people first, then loose fragments. A rule is
    a function named in attention.toml that gives the objects it holds for, each with reasons; their words are worked
    out only when asked for (`reasons`). Objects that are not here have the last class.
    """
    facts = Facts(collection, risk, rates)
    ordered = attention_classes()
    held = [
        rule(facts).select("object_id", turn=_turn(), place=pl.lit(n, pl.Int8)) for n, rule in enumerate(_rules()[:-1])
    ]
    first = pl.concat(held).sort("place", "turn").unique("object_id", keep="first", maintain_order=True)
    last = len(ordered) - 1
    place = pl.when("away").then(last).otherwise(c("place").fill_null(last))
    named = facts.objects.join(first, on="object_id", how="left", maintain_order="left").select(
        "object_id", turn=c("turn").fill_null(len(TURNS)).cast(pl.Int8), place=place.cast(pl.Int8)
    )
    words = dict(enumerate(ordered))
    classes = c("place").replace_strict(words, return_dtype=pl.String)
    return named.select("object_id", "turn", attention=classes).select(*ATTENTION).collect(engine="in-memory")


def _turn() -> pl.Expr:
    kind = c("hazard_id").str.split(":").list.first()
    return kind.replace_strict({name: n for n, name in enumerate(TURNS)}, default=len(TURNS), return_dtype=pl.Int8)


@returns(REASONS)
def reasons(
    classes: pl.DataFrame, risk: Risk, collection: Collection, rates: RatesTable, object_ids: Sequence[str]
) -> pl.DataFrame:
    """Why each of these objects has its class, schema REASONS: one row a reason, the largest cause first.

    `classes`: schema ATTENTION. Within an object: what comes first, then the larger loss, then the harder step.
    """
    mine = classes.filter(c("object_id").is_in(object_ids)).select("object_id", "attention")
    by_class = {term: part["object_id"] for (term,), part in mine.group_by("attention")}
    held = [
        rule(Facts(collection, risk, rates, tuple(by_class[term]), worded=True)).with_columns(attention=pl.lit(term))
        for term, rule in zip(attention_classes(), _rules(), strict=True)
        if term in by_class
    ]
    rows = pl.concat([pl.LazyFrame(schema={**REASON, "attention": pl.String()}), *held])
    stepped = with_step(rows.unique(), rates).with_columns(turn=_turn(), no_loss=-c("loss").fill_null(0.0))
    ordered = stepped.sort("object_id", "turn", "no_loss", "step_no", "reason").drop("turn", "no_loss")
    return ordered.select(*REASONS).collect(engine="in-memory")


def _rules() -> list[Rule]:
    """The rule of each class, in order."""
    wanted = [(term, its.rule) for term, its in attention_classes().items()]
    for term, name in wanted:
        if name not in RULES:
            raise VocabularyError(f"attention.toml, term.{term}.rule", f"there is no rule {name}", "", "Mend the file.")
    return [RULES[name] for _, name in wanted]
