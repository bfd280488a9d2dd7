"""Condition: overall, damage by damage with observation apart from interpretation, flaws of making, areas to watch."""

from collections.abc import Iterator, Mapping

from collection.documents.case import Case
from collection.documents.cells import TOGETHER, Row, coded, facts, joined, paragraphs, part, quantity, rough, term
from collection.documents.document import Block
from collection.documents.words import columns, say, text, title
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

LINES = ("no", "where", "what", "extent", "state", "meaning")


def overall(case: Case) -> Iterator[Block]:
    """Grade, what was seen, and apart from it what it is taken to mean."""
    check, row = case.check, case.object_row
    remark = joined(row["condition_remark"], f"({row['condition_remark_on'] or say('undated')})", by=" ")
    known = vocabulary("grade").term.get(check["grade"]) if check and check["grade"] else None
    grade = f"{known.label}: {known.definition[0].lower()}{known.definition[1:]}" if known else say("not_said")
    rows = facts(
        ("grade", grade),
        ("why", check["grade_reason"] if check else None),
        ("seen", check["summary_observed"] if check else None),
        ("meaning", check["summary_interpreted"] if check else None),
        ("remark", remark if row["condition_remark"] and not check else None),
    )
    yield Block("facts", title("overall"), rows)


def damage(case: Case) -> Iterator[Block]:
    """Open damage, numbered, each with what was seen and what it is taken to mean."""
    if not case.damages:
        words_seen = "damage_unknown" if case.check is None else "nothing_damaged"
        yield Block("text", title("damage"), paragraphs([text(words_seen)]))
    yield Block("table", title("damage"), tuple(map(_line, case.damages)), columns(*LINES))
    flaws = tuple({"no": r["no"], "where": where(r), "what": kind(r)} for r in case.flaws)
    yield Block("table", title("flaws"), flaws, columns("no", "where", "what"))


def watch(case: Case) -> Iterator[Block]:
    """What moves, may move, lets go or was never assessed; what the lender names."""
    named = case.terms_of_loan.get("areas_to_watch")
    rows = [
        *(
            {"no": r["no"], "where": where(r), "what": _watched(r, kind(r), "observation", "activity")}
            for r in moving(case)
        ),
        *(
            {"no": r["no"], "where": where(r), "what": _watched(r, material(r), "repair_state", "stability")}
            for r in letting_go(case)
        ),
        *({"no": "", "where": _bag(r), "what": say("watch_fragment", where=_bag(r))} for r in loose(case)),
        *([{"no": "", "where": say("watch_limits"), "what": named}] if named else []),
    ]
    if rows:
        yield Block("table", title("watch"), tuple(rows), columns("no", "where", "what"))
    elif case.check is not None:
        yield Block("text", title("watch"), paragraphs([text("nothing_to_watch")]))


def moving(case: Case) -> list[Row]:
    """Damage that moves, is suspected to, or whose activity nobody assessed; residues and what is missing do not move."""
    uneasy = {
        t for name in ("moving", "one_sighting", "not_assessed") for t in vocabulary("activity").terms_where(name)
    }
    still = vocabulary("damage").terms_where("no_hazard")
    return [row for row in case.damages if row["state"] in uneasy and row["kind"] not in still]


def letting_go(case: Case) -> list[Row]:
    """Repairs that let go, no longer work or do harm."""
    names = ("lets_go", "no_longer_works", "does_harm")
    uneasy = {t for name in names for t in vocabulary("stability").terms_where(name)}
    return [row for row in case.repairs if row["state"] in uneasy]


def loose(case: Case) -> list[Row]:
    """Pieces that lie in place, held by nothing."""
    return [
        r
        for r in case.rows("fragment", "fragment_id")
        if r["status"] in vocabulary("fragment_status").terms_where("loose")
    ]


def where(row: Row) -> str:
    """Part, side and position."""
    table = "damage" if "damage_id" in row else "repair"
    place = joined(term(table, "side", row["side"]).lower(), row["position"])
    return place if place and row["part"] == WHOLE else joined(part(row["part"]), place)


def kind(row: Row) -> str:
    """Kind of damage."""
    return term("damage", "kind", row["kind"])


def material(row: Row) -> str:
    """Material of a repair, and how it is known."""
    named, how = term("repair", "material", row["material"]), term("repair", "certainty", row["certainty"])
    return say("certainty", material=named, how=how.lower()) if how else named


def size(row: Row, record: str) -> str:
    """Area, length and band as seen, with the error where one is known."""
    error = rough(row.get("measurement_error"))
    measured = joined(
        quantity(record, "area_mm2", row["area_mm2"]),
        quantity(record, "length_mm", row["length_mm"]) if "length_mm" in row else "",
    )
    return joined(
        f"{measured}{TOGETHER}{say('error', error=error)}" if measured and error else measured,
        term(record, "extent_band", row["extent_band"]),
    )


def _line(row: Row) -> Mapping[str, str]:
    count = say("several", count=row["count"]) if row["count"] and row["count"] > 1 else ""
    stage = say("stage", stage=row["stage"]) if row["stage"] else ""
    severity = term("observation", "severity", row["severity"]).lower()
    printed = {
        "no": row["no"],
        "where": where(row),
        "what": joined(kind(row), count, stage, severity),
        "extent": size(row, "observation") or say("not_said"),
        "state": _state(row),
        "meaning": _meaning(row),
    }
    names = (
        "part",
        "side",
        "kind",
        "origin",
        "cause",
        "area_mm2",
        "length_mm",
        "count",
        "stage",
        "extent_band",
        "seen_on",
    )
    return printed | coded(activity=row["state"], **{name: row[name] for name in names})


def _state(row: Row) -> str:
    label = term("observation", "activity", row["state"])
    compared = say("compared", what=row["compared_with"]) if row["compared_with"] else ""
    state = say("seen_on", state=label, day=row["seen_on"].isoformat()) if row["seen_on"] else label
    return joined(
        state, joined(term("observation", "change", row["change"]).lower(), compared), row["evidence"], by="; "
    )


def _meaning(row: Row) -> str:
    agent = term("damage", "cause", row["cause"]).lower()
    how = term("damage", "cause_certainty", row["cause_certainty"]).lower()
    cause = (say("caused_by", agent=agent, how=how) if how else say("caused", agent=agent)) if agent else ""
    onset = term("damage", "onset", row["onset"]).lower()
    return joined(cause, say("began", onset=onset) if onset else "", by="; ") or say("not_said")


def _watched(row: Row, what: str, record: str, column: str) -> str:
    return say("watched", what=what, state=term(record, column, row["state"]).lower())


def _bag(row: Row) -> str:
    return joined(part(row["part"]), row["position"])
