"""What a person would say: coverage first, then what needs attention, then each object in a line."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from collection.attention.classify import attention_classes
from collection.questions.triage import Triage
from collection.risk.rates import RatesTable
from schemas.vocabularies import vocabulary

LEAST_PERCENT = 0.01  # below this share nobody can tell figures apart


def coverage_sentence(coverage: Mapping[str, int]) -> str:
    """*2,140 of 9,000 objects have been looked at; what follows is about those.*"""
    if not coverage["checked"]:
        return f"{_nobody(coverage['objects'])}; what follows is what may be lost unseen."
    return f"{_looked(coverage)}; what follows is about {'it' if coverage['checked'] == 1 else 'those'}."


def rest_sentence(coverage: Mapping[str, int]) -> str:
    """*400 of 640 objects have been looked at; what follows is about the other 240.*"""
    rest = coverage["not_checked"]
    if not rest:
        return f"{_looked(coverage)}; none is left."
    return f"{_looked(coverage)}; what follows is about the other {f'{rest:,}' if rest > 1 else 'one'}."


def count(number: int, noun: str, several: str = "") -> str:
    """*1 object*, *2,140 objects*; `several` where the plural does not end in s."""
    return f"{number:,} {noun if number == 1 else several or f'{noun}s'}"


def _looked(coverage: Mapping[str, int]) -> str:
    have = "has" if coverage["checked"] == 1 else "have"
    return f"{coverage['checked']:,} of {count(coverage['objects'], 'object')} {have} been looked at"


def _nobody(objects: int) -> str:
    return "The one object has not been looked at yet" if objects == 1 else (
        f"None of the {objects:,} objects has been looked at yet"
    )  # fmt: skip


def need_sentence(triage: Triage, chosen: pl.DataFrame | None = None) -> str:
    """*31 objects need attention now, 12 to secure and 19 to move to a better place.*"""
    need = need_words(triage.objects if chosen is None else chosen)
    return f"{need}." if need else "No object needs attention now."


def need_words(chosen: pl.DataFrame) -> str:
    """The same without its full stop; empty where no object needs attention now."""
    counts = dict(chosen["attention"].value_counts().iter_rows())
    terms = attention_classes()
    now = [(counts.get(k, 0), str(e.to_do_words)) for k, e in terms.items() if e.now]
    total = sum(n for n, _ in now)
    parts = " and ".join(f"{n:,} {words}" for n, words in now if n)
    return f"{count(total, 'object needs', 'objects need')} attention now, {parts}" if total else ""


def shown_sentence(triage: Triage, chosen: pl.DataFrame, asked: str) -> str:
    """*Shown: 45 of 640 objects (East Store, room E1; Cloisonné).* Empty where nothing was asked for."""
    return f"Shown: {chosen.height:,} of {count(triage.objects.height, 'object')} ({asked})." if asked else ""


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
    value = 100 * share
    return f"about {value:.2g} %" if value >= LEAST_PERCENT else f"under {LEAST_PERCENT} %"
