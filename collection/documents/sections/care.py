"""What protects the object and people: dangers, limits, handling, packing, what to do if something falls off."""

from collections.abc import Iterator, Mapping
from typing import Any

from collection.documents.case import Case
from collection.documents.cells import Row, coded, facts, figure, joined, paragraphs, part, term, to_write
from collection.documents.document import Block
from collection.documents.sections.condition import letting_go, loose, moving
from collection.documents.words import columns, say, text, texts, title
from collection.questions.cautions import of_danger
from schemas.terms import DangerAgent, DangerBasis
from schemas.vocabularies import terms, vocabulary


def dangers(case: Case) -> Iterator[Block]:
    """Dangers to people, how each is known, what is in force and the usual caution; no procedure, no dose."""
    rows = tuple(map(_danger, case.rows("danger_to_people", "part", "agent")))
    if rows:
        yield Block("table", title("dangers"), rows, columns("danger", "basis", "caution"))
        yield Block("text", "", paragraphs([text("danger_rule")]))
    else:
        yield Block("text", title("dangers"), paragraphs([text("no_danger")]))


def falls_off(case: Case) -> Iterator[Block]:
    """What to do if something falls off, and whom to telephone."""
    yield Block("steps", title("falls_off"), paragraphs(step["text"] for step in texts("falls_off")))
    number = (case.loan or {}).get("emergency_contact")
    yield Block("facts", "", facts(("emergency", number))) if number else Block("write", "", to_write("emergency"))


def limits(case: Case) -> Iterator[Block]:
    """Figures agreed for this loan, else the object's own target; where there is none the report says so."""
    asked, target = case.terms_of_loan, _target(case)
    low, high = _pair(asked, target, "rh_low", "rh_high")
    cool, warm = _pair(asked, target, "temperature_low", "temperature_high")
    rows = facts(
        ("humidity", _between(low, high, "%")),
        ("humidity_change", _within(target.get("rh_change_24h"), "%")),
        ("temperature", _between(cool, warm, "°C")),
        ("temperature_change", _within(target.get("temperature_change_24h"), "°C")),
        ("light", _between(None, asked.get("lux_most"), "lx")),
        ("ultraviolet", _between(None, asked.get("uv_most"), "µW/lm")),
        ("why", joined(target.get("reason"), target.get("source"), by="; ")),
        ("permits", asked.get("permits")),
    )
    yield Block("facts", title("limits"), rows)


def standing(case: Case) -> Iterator[Block]:
    """What holds for every enamel, and what this one asks for besides."""
    holds = {"always", *(["unstable"] if _unstable(case) else []), *(["loose"] if _sheds(case) else [])}
    yield Block("list", title("standing"), paragraphs(s["text"] for s in texts("standing") if s["when"] in holds))


def packing(case: Case) -> Iterator[Block]:
    """Crate, order of unpacking, where to hold it."""
    asked = case.terms_of_loan
    rows = facts(
        ("crate", asked.get("crate_no")),
        ("how_packed", asked.get("packing")),
    )
    yield Block("list", title("packing"), paragraphs(s["text"] for s in texts("handling")))
    yield Block("facts", "", rows)
    yield Block("write", "", to_write("lift", "people"))


def _danger(row: Row) -> Mapping[str, str]:
    agent = terms("danger_agent", DangerAgent).get(row["agent"])
    basis = terms("danger_basis", DangerBasis).get(row["basis"])
    safe, measured = row["made_safe_on"], row["measured"]
    open_question = bool(agent and agent.keeps_out and basis and basis.not_made_safe and not safe)
    value = joined(figure(measured), row["unit"], by=" ") if measured is not None else ""
    printed = {
        "danger": joined(term("danger_to_people", "agent", row["agent"]), part(row["part"])),
        "basis": joined(
            term("danger_to_people", "basis", row["basis"]),
            say("measured", value=value, day=row["measured_on"] or say("undated")) if value else "",
            say("made_safe", day=safe.isoformat()) if safe else "",
            by="; ",
        ),
        "caution": joined(
            say("unassessed") if open_question else "",
            say("in_force", precautions=row["precautions"].rstrip(".")) + "." if row["precautions"] else "",
            *_caution(row["agent"]),
            by=" ",
        ),
    }
    return printed | coded(agent=row["agent"], basis=row["basis"], made_safe_on=safe)


def _caution(agent: str) -> Iterator[str]:
    """What is kept away, as a sentence, and whom to ask."""
    for keep, person in of_danger(agent):
        yield f"{keep[:1].upper()}{keep[1:]}."
        yield say("ask", who=person.lower())


def _target(case: Case) -> Row:
    """The object's own target that was set last; a default of a room is not told."""
    made = [t for t in case.rows("target", "set_on", "target_id") if t["set_on"] is None or t["set_on"] <= case.made_on]
    return made[-1] if made else {}


def _pair(asked: Row, target: Row, low: str, high: str) -> tuple[Any, Any]:
    source = asked if asked.get(low) is not None or asked.get(high) is not None else target
    return source.get(low), source.get(high)


def _between(low: float | None, high: float | None, unit: str) -> str:
    if low is None and high is None:
        return say("no_figure")
    if low is None:
        return say("at_most", high=figure(high), unit=unit)
    return say("at_least", low=figure(low), unit=unit) if high is None else _span(low, high, unit)


def _span(low: float, high: float, unit: str) -> str:
    return say("between", low=figure(low), high=figure(high), unit=unit)


def _within(high: float | None, unit: str) -> str:
    return "" if high is None else say("within_a_day", high=figure(high), unit=unit)


def _unstable(case: Case) -> bool:
    """By its class or by a damage that only unstable glass has."""
    kinds = vocabulary("damage").terms_where("unstable_glass")
    known = case.thing["glass_stability"] in vocabulary("glass_stability").terms_where("unstable")
    return known or any(row["kind"] in kinds for row in case.damages)


def _sheds(case: Case) -> bool:
    """Something is loose, or moves in a way that asks to be secured."""
    kinds = vocabulary("damage").terms_where("secure")
    return bool(loose(case) or letting_go(case)) or any(row["kind"] in kinds for row in moving(case))
