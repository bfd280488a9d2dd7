"""Usual cautions for people and objects, from `cautions.toml`: told where something of the object asks for them."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import polars as pl

from collection.frames import returns
from schemas.vocabularies import STATUS_WORDS, load_parameters, vocabularies, vocabulary

FILE, DANGER = "cautions", "danger_agent"
CAUTIONS = pl.Schema({n: pl.String() for n in ("caution", "keep_away", "because", "ask", "how_sure", "source")})


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
