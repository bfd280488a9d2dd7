"""Dangers to people: how each is known, what was ordered, whether it was released to travel, and the usual caution."""

from collections.abc import Iterator, Mapping

from collection.documents.case import Case
from collection.documents.cells import Row, coded, day_words, figure, joined, paragraphs, part, quantity, term
from collection.documents.document import Block
from collection.documents.sections.condition import moving
from collection.documents.words import columns, say, text, title
from collection.facts.wording import DANGER
from collection.loans.rules import NOT_FIT
from collection.questions.cautions import of_danger
from schemas.vocabularies import vocabulary


def dangers(case: Case) -> Iterator[Block]:
    """Those on record, and an alkaline film that follows from the condition; no procedure, no dose."""
    rows = (*(_danger(case, row) for row in case.rows("danger_to_people", "part", "agent")), *_film(case))
    if rows:
        yield Block("table", title("dangers"), rows, columns("danger", "basis", "caution"))
        yield Block("text", "", paragraphs([text("danger_rule")]))
    else:
        yield Block("text", title("dangers"), paragraphs([text("no_danger")]))


def _danger(case: Case, row: Row) -> Mapping[str, str]:
    printed = {
        "danger": joined(term("danger_to_people", "agent", row["agent"]), part(row["part"])),
        "basis": _basis(row),
        "caution": joined(*_standing(case, row), *caution(row["agent"]), by=" "),
    }
    return printed | coded(agent=row["agent"], basis=row["basis"], made_safe_on=row["made_safe_on"])


def _basis(row: Row) -> str:
    """How it is known: assumed, measured with what, where and when, assessed, released."""
    safe, cleared = row["made_safe_on"], row["cleared_to_travel_on"]
    return joined(
        term("danger_to_people", "basis", row["basis"]),
        _measured(row),
        say("made_safe", day=day_words(safe)) if safe else "",
        say("cleared", day=day_words(cleared), who=row["cleared_by"] or say("not_said")) if cleared else "",
        by="; ",
    )


def _value(shown: str, unit: str | None) -> str:
    """*0.2 %* or *pH 9*: what is a scale and no unit stands before its figure."""
    return joined(unit, shown, by=" ") if unit in say("scales").split() else joined(shown, unit, by=" ")


def _measured(row: Row) -> str:
    if row["measured"] is None:
        return ""
    value, day = _value(figure(row["measured"]), row["unit"]), day_words(row["measured_on"]) or say("undated")
    distance = quantity("danger_to_people", "distance_mm", row["distance_mm"])
    how = say(
        "measured_how",
        distance=distance or say("not_said"),
        background=row["background"] or say("not_said"),
        instrument=row["instrument"] or say("not_said"),
    )
    known = distance or row["background"] or row["instrument"]
    return joined(say("measured", value=value, day=day), how if known else "")


def _standing(case: Case, row: Row) -> Iterator[str]:
    """What holds of it for this journey, and what the house ordered."""
    barred = {
        r["rule"] for r in case.also.reasons if r["hazard_id"] == f"{DANGER}:{row['agent']}" and r["verdict"] == NOT_FIT
    }
    shut = row["agent"] in vocabulary("danger_agent").terms_where("keeps_out")
    if DANGER in barred or (not case.also.verdict and shut and not row["made_safe_on"]):
        yield say("unassessed")
    elif barred:
        yield say("does_not_travel")
    if row["precautions"]:
        until = say("until", day=day_words(row["review_on"])) if row["review_on"] else ""
        yield joined(say("in_force", precautions=row["precautions"].rstrip(".")), until) + "."


def _film(case: Case) -> Iterator[Mapping[str, str]]:
    """An alkaline film that nobody recorded, and that weeping, salts or salts beneath a coating make likely."""
    known = {row["agent"] for row in case.rows("danger_to_people")}
    signs = set(vocabulary("repair_sign").terms_where("alkaline"))
    wet = [row["no"] for row in moving(case) if row["kind"] in vocabulary("damage").terms_where("alkaline")]
    beneath = [row["no"] for row in case.repairs if signs & set(row["signs"] or ())]
    for agent in vocabulary("danger_agent").terms_where("alkaline") if wet or beneath else ():
        if agent not in known:
            yield {
                "danger": term("danger_to_people", "agent", agent),
                "basis": say("derived", numbers=joined(*wet, *beneath)),
                "caution": joined(*caution(agent), by=" "),
            }


def caution(agent: str) -> Iterator[str]:
    """What is kept away, as a sentence, and whom to ask."""
    for keep, person in of_danger(agent):
        yield f"{keep[:1].upper()}{keep[1:]}."
        yield say("ask", who=person.lower())
