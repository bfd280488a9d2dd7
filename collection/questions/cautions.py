"""What a person heeds before touching an object: what comes before anything else, then the usual cautions.

First a danger to people, what the house ordered, a loan that leaves. Cautions are those of `cautions.toml` that
something of the object asks for.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import polars as pl

from collection.facts.facts import Facts
from collection.facts.wording import day_words
from collection.frames import returns
from collection.questions.triage import Triage
from schemas.vocabularies import STATUS_WORDS, load_parameters, vocabularies, vocabulary

HEED = pl.Schema({"object_id": pl.String, "heed": pl.String})
DANGER_SIGN = "\N{WARNING SIGN}"
c = pl.col
FILE, DANGER = "cautions", "danger_agent"
CAUTIONS = pl.Schema({n: pl.String() for n in ("caution", "keep_away", "because", "ask", "how_sure", "source")})


@returns(HEED)
def heed(triage: Triage) -> pl.DataFrame:
    """Objects that something comes before, schema HEED: dangers by sign and word, then house orders, then a loan.

    A danger names the qualified people its cautions name.
    """
    facts = Facts(triage.collection, triage.risk, triage.rates)
    every = pl.concat([_dangers(facts), _orders(facts), _leaves(facts)])
    joined = every.sort("object_id", "place", "words").group_by("object_id", maintain_order=True)
    return joined.agg(heed=c("words").unique(maintain_order=True).str.join("; ")).collect(engine="in-memory")


def _dangers(facts: Facts) -> pl.LazyFrame:
    labels = vocabulary("danger_agent").labels()
    worded = {agent: f"{label.lower()}{_to_ask(agent)}" for agent, label in labels.items()}
    agent = c("agent").replace_strict(worded, default=c("agent"))
    return _row(facts.of("danger_to_people"), 0, pl.format("{} danger to people: {}", pl.lit(DANGER_SIGN), agent))


def _to_ask(agent: str) -> str:
    """*(ask the radiation adviser)*: whom the cautions of a danger name."""
    asked = dict.fromkeys(person.lower() for _, person in of_danger(agent))
    return f" (ask the {' and the '.join(asked)})" if asked else ""


def _orders(facts: Facts) -> pl.LazyFrame:
    ordered = facts.of("danger_to_people").filter(c("precautions").is_not_null())
    return _row(ordered, 1, pl.format("the house ordered: {}", "precautions"))


def _leaves(facts: Facts) -> pl.LazyFrame:
    last = pl.lit(facts.as_of).dt.offset_by(f"{facts.rates.lines.before_loan_days}d")
    soon = facts.promised.filter(c("leaves_on") <= last)
    return _row(soon, 2, pl.format("leaves {} for {}", day_words("leaves_on"), "loan_id"))


def _row(rows: pl.LazyFrame, place: int, words: pl.Expr) -> pl.LazyFrame:
    return rows.select("object_id", place=pl.lit(place, pl.Int8), words=words)


def defer() -> str:
    """Who decides: never this register."""
    return str(load_parameters(FILE)["defer"])


@returns(CAUTIONS)
def cautions(kinds: Mapping[str, Sequence[str]], *, own_only: bool = False) -> pl.DataFrame:
    """Schema CAUTIONS, for an object whose `kinds` (vocabulary to terms) are these; its own first, then what holds of
    all unless `own_only`. `ask` is the label of the qualified person."""
    every = load_parameters(FILE)["caution"]
    own = [c for c in every if _fits(c, kinds)]
    of_all = [] if own_only else [c for c in every if not any(name in vocabularies() for name in c)]
    people = vocabulary("qualified").labels()
    rows = [
        (c["title"], c["keep"], c["because"], people[c["ask"]], STATUS_WORDS[c["status"]], c["source"])
        for c in (*own, *of_all)
    ]
    return pl.DataFrame(rows, schema=CAUTIONS, orient="row")


def of_danger(agent: str) -> list[tuple[str, str]]:
    """What is kept away from and whom to ask (a label), of one danger to people; empty for one the file has not."""
    people = vocabulary("qualified").labels()
    return [(c["keep"], people[c["ask"]]) for c in load_parameters(FILE)["caution"] if agent in c.get(DANGER, ())]


def _fits(caution: Mapping[str, Any], kinds: Mapping[str, Sequence[str]]) -> bool:
    """A term of the object or one broader is named, or has a property that is named."""
    return any(
        asked == term or bool(getattr(vocabulary(name).term[term], asked, False))
        for name, terms in kinds.items()
        for term in _with_broader(name, terms)
        for asked in caution.get(name, ())
    )


def _with_broader(name: str, terms: Sequence[str]) -> Iterator[str]:
    known = vocabulary(name).term
    for term in terms:
        above: str | None = term
        while above is not None:
            yield above
            above = known[above].broader
