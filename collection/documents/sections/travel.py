"""May it travel? The verdict with its reasons, and what was agreed for this loan beside what the object needs.

Reasons stand by the numbers of the tables, with what would make the object fit and who releases it. Of limits it is
told where they do not fit.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from collection.documents.case import Case
from collection.documents.cells import Row, day_words, facts, figure, joined, paragraphs, to_write
from collection.documents.document import Block
from collection.documents.words import columns, say, text, title
from collection.loans.limits import OF_LIGHT, fit_words
from collection.loans.parameters import travel_words
from collection.loans.rules import FIT, NOT_FIT
from schemas.vocabularies import vocabulary

NAMES = ("quantity", "agreed", "needs", "reason", "fits")


def travel(case: Case) -> Iterator[Block]:
    """The first block of a report."""
    also = case.also
    if not also.verdict:
        yield Block("text", title("travel"), paragraphs([text("not_judged")]))
        return
    head = {
        "label": also.verdict_words.upper() if also.verdict == NOT_FIT else also.verdict_words,
        "tone": also.verdict,
    }
    yield Block("verdict", title("travel"), (head, *({"text": words} for words in reasons(case))))
    if also.verdict == NOT_FIT:
        rows = facts(("fit_when", "; ".join(also.fit_when)), ("takes", also.takes), ("time", also.time))
        yield Block("facts", "", rows)
    if also.verdict != FIT:
        yield Block("write", "", to_write("released"))


def reasons(case: Case) -> list[str]:
    """Each reason once, those against first, with the number of the table it rests on."""
    ordered = sorted(case.also.reasons, key=lambda row: (row["verdict"] != NOT_FIT, _place(case, row)))
    return list(dict.fromkeys(_words(case, row) for row in ordered))


def _words(case: Case, row: Row) -> str:
    number = case.numbers_by_hazard.get(row["hazard_id"] or "", "")
    reason = f"{row['reason'][:1].upper()}{row['reason'][1:]}"
    return say("reason", no=number, reason=row["reason"]) if number else reason


def _place(case: Case, row: Row) -> int:
    """Where in the tables a reason stands; what has no number comes after those that have one."""
    numbers = list(case.numbers_by_hazard)
    return numbers.index(row["hazard_id"]) if row["hazard_id"] in numbers else len(numbers)


def limits(case: Case) -> Iterator[Block]:
    """One row a quantity, those nobody set a figure for too; unstable glass without a target does not travel."""
    rows = tuple(map(_row, case.also.limits)) or tuple(map(_row, _targets(case)))
    yield Block("table", title("limits"), rows, columns(*NAMES))
    climate = [row for row in case.also.limits or _targets(case) if row["needs_low"] or row["needs_high"]]
    if unstable(case) and not climate:
        yield Block("text", "", paragraphs([text("no_target")]))
    yield Block("facts", "", facts(("permits", case.terms_of_loan.get("permits"))))


def known_limits(case: Case) -> Iterator[Block]:
    """The same, without quantities nobody set or agreed a figure for, and without why and by whom."""
    empty = {say("no_figure"), say("nobody_set")}
    yield from _without_who(
        case, ("quantity", "agreed", "needs", "fits"), lambda row: {row["agreed"], row["needs"]} != empty
    )


def needed_limits(case: Case) -> Iterator[Block]:
    """What the object needs and why, whatever a loan agreed; by whom stays in the house's records."""
    yield from _without_who(case, ("quantity", "needs", "reason"), lambda row: row["needs"] != say("nobody_set"))


def _without_who(case: Case, names: Sequence[str], wanted: Callable[[Mapping[str, str]], bool]) -> Iterator[Block]:
    """Limits with these columns alone, on the page and in the data attached, and nobody's name."""
    nameless = replace(case.also, limits=[{**row, "set_by": None} for row in case.also.limits])
    for block in limits(replace(case, also=nameless)):
        if block.columns:
            rows = tuple({name: row[name] for name in names} for row in block.rows if wanted(row))
            yield replace(block, rows=rows, columns=columns(*names))
        else:
            yield block


def _row(row: Row) -> Mapping[str, str]:
    quantity = travel_words().quantity[row["quantity"]]
    return {
        "quantity": f"{quantity[:1].upper()}{quantity[1:]}",
        "agreed": span(row["agreed_low"], row["agreed_high"], row["unit"]) or say("no_figure"),
        "needs": span(row["needs_low"], row["needs_high"], row["unit"]) or say("nobody_set"),
        "reason": joined(row["reason"], row["set_by"], day_words(row["set_on"])),
        "fits": fit_words(row),
    }


def _targets(case: Case) -> Iterator[Row]:
    """Without a loan: the object's own target that was set last, and its requirement, as rows of schema LIMITS."""
    target, of_light = next(reversed(case.rows("target", "set_on", "target_id")), None) or {}, case.requirement
    ends = {
        "humidity": ("%", target.get("rh_low"), target.get("rh_high")),
        "humidity_change": ("%", None, target.get("rh_change_24h")),
        "temperature": ("°C", target.get("temperature_low"), target.get("temperature_high")),
        "temperature_change": ("°C", None, target.get("temperature_change_24h")),
        "light": ("lx", None, of_light.get("lux_most")),
        "ultraviolet": ("µW/lm", None, of_light.get("uv_most")),
        "light_total": ("lx h", None, of_light.get("light_hours")),
    }
    for quantity, (unit, low, high) in ends.items():
        needed = low is not None or high is not None
        source = (of_light if quantity in OF_LIGHT else target) if needed else {}
        why = {name: source.get(name) for name in ("reason", "set_by", "set_on")}
        yield {
            "quantity": quantity, "unit": unit, "agreed_low": None, "agreed_high": None, "needs_low": low,
            "needs_high": high, "conflict": False, "bridged": False, **why,
        }  # fmt: skip


def span(low: float | None, high: float | None, unit: str) -> str:
    """*38 to 48 %*, *at most 200 lx*; empty where neither end is known."""
    if low is None and high is None:
        return ""
    if low is None:
        return say("at_most", high=figure(high), unit=unit)
    if high is None:
        return say("at_least", low=figure(low), unit=unit)
    return say("between", low=figure(low), high=figure(high), unit=unit)


def unstable(case: Case) -> bool:
    """By its class or by a damage that only unstable glass has."""
    kinds = vocabulary("damage").terms_where("unstable_glass")
    known = case.object_row["glass_stability"] in vocabulary("glass_stability").terms_where("unstable")
    return known or any(row["kind"] in kinds for row in case.damages)
