"""The check a report rests on: which stage, why, when, where, by whom, with what light, and what was not examined."""

from collections.abc import Iterator

from collection.documents.case import Case
from collection.documents.cells import Row, always, day_words, facts, figure, joined, paragraphs, part, term
from collection.documents.document import Block
from collection.documents.words import columns, say, text, title, words
from schemas.vocabularies import vocabulary


def check(case: Case) -> Iterator[Block]:
    """What is wanting comes first; then stage and loan, then the check."""
    loan, stated = case.loan or {}, case.stated or {}
    ours, theirs = sides(case)
    first = facts(("rests_on", shortcoming(case)), ("notice", case.setting("invented")), ("state", stage_words(case)))
    of_loan = facts(
        ("loan", loan.get("loan_id") or text("no_loan")),
        ("lender", ours if loan else ""),
        ("borrower", theirs),
        ("agreement", loan.get("agreement_ref")),
        ("venues", joined(*(_venue(leg) for leg in case.of_loan("loan_leg", "leg")), by="; ")),
        ("made_on", day_words(case.made_on)),
    )
    yield Block("facts", title("check"), (*first, *of_loan, *_of_check(case, stated)))


def _of_check(case: Case, stated: Row) -> tuple[dict[str, str], ...]:
    row = case.check
    if row is None:
        return ()
    people = (case.also.people or {}).get(row["check_id"], {})
    rows = always(
        ("purpose", row["purpose"] or (case.loan or {}).get("purpose")),
        ("looked_on", day_words(row["checked_on"]) or say("undated")),
        ("place", row["place"] or stated.get("place")),
        ("look", look_words(row)),
        ("examiner", people.get("examiner")),
        ("witness", people.get("witness")),
        ("method", row["method"]),
    )
    air = row["rh_percent"], row["temperature_c"]
    both = say("air", temperature=figure(air[1]), humidity=figure(air[0])) if None not in air else ""
    why = term("condition_check", "occasion", row["occasion"])
    more = facts(("air", both), ("occasion", why), ("definitions", row["definitions_version"]))
    return tuple(map(dict, (*rows, *more)))


def not_examined(case: Case) -> Iterator[Block]:
    """Sides that check did not see, and why; or that the record does not say."""
    row = case.check
    covered = [r for r in case.rows("coverage", "part", "side") if row and r["check_id"] == row["check_id"]]
    looked = vocabulary("seen").terms_where("looked")
    missed = tuple(map(_side, (r for r in covered if r["seen"] not in looked)))
    if missed:
        yield Block("table", title("not_examined"), missed, columns("part", "side", "seen", "why"))
    else:
        sentence = "nothing_examined" if row is None else "all_seen" if covered else "sides_not_recorded"
        yield Block("text", title("not_examined"), paragraphs([text(sentence)]))


def _side(row: Row) -> dict[str, str]:
    return {
        "part": part(row["part"]),
        "side": term("coverage", "side", row["side"]),
        "seen": term("coverage", "seen", row["seen"]),
        "why": row["why"] or say("not_said"),
    }


def sides(case: Case) -> tuple[str, str]:
    """Who lends and who borrows; the roles are swapped for a loan in."""
    other, ours = (case.loan or {}).get("borrower") or "", case.setting("museum")
    return (other, ours) if swapped(case) else (ours, other)


def swapped(case: Case) -> bool:
    """It is a loan in."""
    return bool(case.loan) and (case.loan or {})["direction"] in vocabulary("loan_direction").terms_where(
        "roles_swapped"
    )


def stage_words(case: Case) -> str:
    """*Outgoing: before packing at the lender*."""
    known = vocabulary("loan_state").term[case.state]
    return f"{known.label}: {known.definition[0].lower()}{known.definition[1:]}"


def look_words(row: Row) -> str:
    """How closely it was looked at, and whether it was reached."""
    visit = term("condition_check", "visit", row.get("visit")).lower()
    return joined(term("condition_check", "look", row.get("look")), visit)


def shortcoming(case: Case) -> str:
    """Why the check does not suffice for a stage that is to be signed, if it does not."""
    if case.check is None:
        return text("nobody_looked")
    days, day = int(words()["look"]["days"]), case.check["checked_on_latest"]
    written = day_words(case.check["checked_on"])
    if case.check["look"] not in vocabulary("look").terms_where("each_damage"):
        return text("look_too_light", look=look_words({"look": case.check["look"]}).lower(), day=written, days=days)
    late = day is not None and (case.made_on - day).days > days
    return text("look_too_old", day=written, days=days) if late else ""


def _venue(leg: Row) -> str:
    first, last = (day_words(leg[name]) or "…" for name in ("starts_on", "ends_on"))
    return say("venue", venue=leg["venue"] or say("not_said"), dates=say("dates", first=first, last=last))
