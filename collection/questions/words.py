"""What a person would say: coverage first, then what needs attention, then each object in a line."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from collection.attention.classify import attention_classes
from collection.questions.triage import Triage
from collection.risk.rates import RatesTable
from schemas.vocabularies import load_parameters, vocabulary

HUNDRED, LEAST_PERCENT = (load_parameters("lines")["told"][name] for name in ("percent", "smallest_percent"))


def coverage_sentence(coverage: Mapping[str, int]) -> str:
    """*2,140 of 9,000 objects have been looked at; what follows is about those.*"""
    if not coverage["looked_at"]:
        nobody = f"None of the {coverage['objects']:,} objects has been looked at yet"
        return f"{nobody}; what follows is what may be lost unseen."
    some = f"{coverage['looked_at']:,} of {coverage['objects']:,} objects have been looked at"
    return f"{some}; what follows is about those."


def rest_sentence(coverage: Mapping[str, int]) -> str:
    """*400 of 640 objects have been looked at; what follows is about the other 240.*"""
    some = f"{coverage['looked_at']:,} of {coverage['objects']:,} objects have been looked at"
    return f"{some}; what follows is about the other {coverage['never_seen']:,}."


def need_sentence(found: Triage, chosen: pl.DataFrame | None = None) -> str:
    """*31 objects need attention now, 12 to secure and 19 to move to a better place.*"""
    told = need_words(found.objects if chosen is None else chosen)
    return f"{told}." if told else "No object needs attention now."


def need_words(chosen: pl.DataFrame) -> str:
    """The same without its full stop; empty where no object needs attention now."""
    counts = dict(chosen["attention"].value_counts().iter_rows())
    terms = attention_classes()
    now = [(counts.get(k, 0), str(e.to_do_words)) for k, e in terms.items() if e.now]
    total = sum(n for n, _ in now)
    parts = " and ".join(f"{n:,} {words}" for n, words in now if n)
    return f"{total:,} {'object needs' if total == 1 else 'objects need'} attention now, {parts}" if total else ""


def shown_sentence(found: Triage, chosen: pl.DataFrame, asked: str) -> str:
    """*Shown: 45 of 640 objects (East Store, room E1; Cloisonné).* Empty where nothing was asked for."""
    return f"Shown: {chosen.height:,} of {found.objects.height:,} objects ({asked})." if asked else ""


def object_line(row: Mapping[str, Any], rates: RatesTable) -> str:
    """One object in two lines: number, class, risk in words, then why and the first step."""
    label = vocabulary("attention").term[row["attention"]].label
    why = "; ".join(row["reasons"] or ()) or "nothing recorded against it"
    place = f" in {row['location_id']}" if row["location_id"] else ""
    return f"{row['object_id']}{place}: {label}; {risk_words(row)}\n    {why}. First: {row['first_step']}."


def risk_words(row: Mapping[str, Any]) -> str:
    """*about 1.2 % of its value a year, if left*; what is only guessed at is said to be so."""
    if row["annual_loss"]:
        return f"{percent(row['annual_loss'])} of its value a year, if left"
    if row["unseen_loss"]:
        return f"unseen; {percent(row['unseen_loss'])} of its value a year may go unnoticed"
    return "no loss expected from what was seen"


def percent(share: float) -> str:
    """Two figures, never more."""
    value = HUNDRED * share
    return f"about {value:.2g} %" if value >= LEAST_PERCENT else f"under {LEAST_PERCENT} %"
