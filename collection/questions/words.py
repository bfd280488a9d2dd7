"""What a person would say: coverage first, then what needs attention, then each object in a line."""

from collections.abc import Mapping
from datetime import date
from math import ceil, sqrt
from typing import Any

import polars as pl

from collection.attention.classify import attention_classes
from collection.questions.triage import Triage

LEAST_PERCENT = 0.01  # below this share nobody can tell figures apart
DECIMALS = 6  # beyond which a sum of amounts is rounding
NO_OBJECT = "There is no object here that could have been checked."
SHOWN_REASONS = 2  # causes told of an object in a list


def coverage_sentence(coverage: Mapping[str, int]) -> str:
    """*2,140 of 9,000 objects have been checked; what follows is about those.*"""
    if not coverage["objects"]:
        return NO_OBJECT
    if not coverage["checked"]:
        return f"{_nobody(coverage['objects'])}; what follows is what may be expected there."
    return f"{_checked(coverage)}; what follows is about {'it' if coverage['checked'] == 1 else 'those'}."


def rest_sentence(coverage: Mapping[str, int]) -> str:
    """*400 of 640 objects have been checked; what follows is about the other 240.*"""
    rest = coverage["not_checked"]
    if not coverage["objects"]:
        return NO_OBJECT
    if not rest:
        return f"{_checked(coverage)}; none is left."
    return f"{_checked(coverage)}; what follows is about the other {f'{rest:,}' if rest > 1 else 'one'}."


def count(number: int, noun: str, several: str = "") -> str:
    """*1 object*, *2,140 objects*; `several` where the plural does not end in s."""
    return f"{number:,} {noun if number == 1 else several or f'{noun}s'}"


def day_in_words(day: date) -> str:
    """*16 November 2026*."""
    return f"{day.day} {day:%B %Y}"


def _checked(coverage: Mapping[str, int]) -> str:
    have = "has" if coverage["checked"] == 1 else "have"
    return f"{coverage['checked']:,} of {count(coverage['objects'], 'object')} {have} been checked"


def _nobody(objects: int) -> str:
    return "The one object has not been checked yet" if objects == 1 else (
        f"None of the {objects:,} objects has been checked yet"
    )  # fmt: skip


def need_sentence(triage: Triage, chosen: pl.DataFrame | None = None) -> str:
    """*31 objects need attention now: 12 to secure, 19 to move, or whose place is to be mended.*"""
    need = need_words(triage.objects if chosen is None else chosen)
    return f"{need}." if need else "No object needs attention now."


def need_words(chosen: pl.DataFrame) -> str:
    """The same without its full stop; empty where no object needs attention now."""
    counts = dict(chosen["attention"].value_counts().iter_rows())
    terms = attention_classes()
    now = [(counts.get(k, 0), str(e.to_do_words)) for k, e in terms.items() if e.now]
    total = sum(n for n, _ in now)
    parts = "; ".join(f"{n:,} {words}" for n, words in now if n)
    return f"{count(total, 'object needs', 'objects need')} attention now: {parts}" if total else ""


def shown_sentence(triage: Triage, chosen: pl.DataFrame, asked: str) -> str:
    """*Shown: 45 of 640 objects (East Store, room E1; Cloisonné).* Empty where nothing was asked for."""
    return f"Shown: {chosen.height:,} of {count(triage.objects.height, 'object')} ({asked})." if asked else ""


def risk_words(row: Mapping[str, Any]) -> str:
    """*about 1.2 % of its value a year, if nothing is done*; what is only expected is said to be so."""
    if row["annual_loss"]:
        size = "its size is not recorded: measure it first; " if row["size_assumed"] else ""
        return f"{size}{percent(row['annual_loss'])} of its value a year, if nothing is done"
    if row["last_checked_on"]:
        return f"checked {day_in_words(row['last_checked_on'])}, nothing found"
    if row["unchecked_loss"]:
        return f"not yet checked; {percent(row['unchecked_loss'])} of its value a year expected, judged by its kind"
    return "not yet checked"


def upward_words(row: Mapping[str, Any], times: float) -> str:
    """*unsure upward*, where the mean stands far above the likely figure."""
    likely, mean = row["annual_loss"], row["mean_loss"]
    return "unsure upward" if likely and mean > times * likely else ""


def percent(share: float) -> str:
    """Two figures, never more."""
    value = 100 * share
    return f"about {two_figures(value)} %" if value >= LEAST_PERCENT else f"under {LEAST_PERCENT} %"


def two_figures(value: float) -> str:
    """*2.8*, *12*, *0.02*: two figures, no exponent."""
    return f"{float(f'{value:.2g}'):,.10f}".rstrip("0").rstrip(".")


def rough_words(times: float) -> str:
    """*may be six times less or more*: the square root of the 95th over the 5th percentile, in a whole number."""
    return f"may be {round(sqrt(times)):g} times less or more"


def rounded_up(value: float) -> str:
    """*113*, *2.3*: what is asked for, never less than is needed; one decimal below ten."""
    tenths = 1 if value >= 10 else 10
    return f"{ceil(round(value, DECIMALS) * tenths) / tenths:,.10g}"
