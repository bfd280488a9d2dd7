"""Condition: overall, then number by number, worst first; what was seen apart from what it is taken to mean."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from collection.documents.case import Case
from collection.documents.cells import Row, coded, day_words, extent, facts, joined, paragraphs, term, where
from collection.documents.document import Block
from collection.documents.words import columns, say, text, title
from collection.loans.rules import NOT_FIT
from schemas.terms import RepairFunction
from schemas.vocabularies import terms, vocabulary

LINES = ("no", "where", "what", "observed", "meaning", "journey")
CODED = ("part", "side", "kind", "origin", "cause", "area_mm2", "length_mm", "count", "stage", "extent_band", "seen_on")


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


def condition(case: Case) -> Iterator[Block]:
    """Open damage and repairs that let go, worst first; what has no number counts as new. Then flaws of making."""
    rows = sorted([*_damages(case), *_repairs(case)], key=lambda row: int(row["turn_kept"]))
    if rows:
        yield Block("table", title("condition"), tuple(rows), columns(*LINES))
        yield Block("text", "", paragraphs([text("nothing_to_watch")]))
    else:
        words_seen = "damage_unknown" if case.check is None else "nothing_damaged"
        yield Block("text", title("condition"), paragraphs([text(words_seen)]))
    flaws = tuple({"no": r["no"], "where": where(r), "kind": kind(r)} for r in case.flaws)
    yield Block("table", title("flaws"), flaws, columns("no", "where", "kind"))


def short_condition(case: Case) -> Iterator[Block]:
    """The same without what it is taken to mean."""
    meaning, *_ = columns("meaning")
    for block in condition(case):
        yield replace(block, columns=tuple(column for column in block.columns if column != meaning))


def moving(case: Case) -> list[Row]:
    """Damage that moves, is suspected to, or whose activity nobody assessed."""
    return [row for row in case.damages if _uneasy(row)]


def _uneasy(row: Row) -> bool:
    """It moves, is suspected to, or was never assessed; residues and what is missing do not move."""
    activity = vocabulary("activity")
    if row["kind"] in vocabulary("damage").terms_where("no_hazard"):
        return False
    return any(row["state"] in activity.terms_where(flag) for flag in ("moving", "one_sighting", "not_assessed"))


def letting_go(case: Case) -> list[Row]:
    """Repairs that no longer do what they were made for, or do harm."""
    return [row for row in case.repairs if row["state"] in vocabulary("stability").terms_where("spoils")]


def loose(case: Case) -> list[Row]:
    """Pieces that lie in place, with nothing to hold them."""
    lies = vocabulary("fragment_status").terms_where("loose")
    return [row for row in case.rows("fragment", "fragment_id") if row["status"] in lies]


def kind(row: Row) -> str:
    """Kind of damage."""
    return term("damage", "kind", row["kind"])


def noun(row: Row) -> str:
    """A repair as a thing: *coating*, *join*."""
    uses = terms("repair_function", RepairFunction)
    return uses[row["function"]].noun if row["function"] in uses else term("repair", "function", row["function"])


def _damages(case: Case) -> Iterator[Mapping[str, str]]:
    for row in case.damages:
        count = say("several", count=row["count"]) if row["count"] and row["count"] > 1 else ""
        stage = say("stage", stage=row["stage"]) if row["stage"] else ""
        severity = term("observation", "severity", row["severity"]).lower()
        verdict, turn = _journey(case, row["no"], uneasy=_uneasy(row))
        printed = {
            "no": row["no"],
            "where": where(row),
            "what": joined(kind(row), count, stage, severity, extent(row, "observation") or say("not_said")),
            "observed": _observed(case, row),
            "meaning": _meaning(row),
            "journey": verdict,
        }
        yield printed | coded(turn=turn, activity=row["state"], **{name: row[name] for name in CODED})


def _repairs(case: Case) -> Iterator[Mapping[str, str]]:
    """Repairs that let go stand with the damage; all repairs stand in their own table too."""
    for row in letting_go(case):
        verdict, turn = _journey(case, row["no"], uneasy=True)
        label, signs = term("repair_state", "stability", row["state"]), term("repair_state", "signs", row["signs"])
        seen = say("seen_on", state=label, day=day_words(row["seen_on"])) if row["seen_on"] else label
        what = joined(noun(row).capitalize(), term("repair", "material", row["material"]).lower())
        printed = {
            "no": row["no"],
            "where": where(row),
            "what": joined(
                what,
                extent(
                    {**row, "area_mm2": row["harmed_mm2"] or row["area_mm2"] or row["area_mm2_of_check"]},
                    "repair_state",
                ),
            ),
            "observed": joined(seen, signs.lower(), by="; "),
            "meaning": say("not_said"),
            "journey": verdict,
        }
        yield printed | coded(turn=turn, stability=row["state"])


def _journey(case: Case, number: str, *, uneasy: bool) -> tuple[str, int]:
    """What a number means for the journey, and its turn: worst first."""
    verdict = case.verdict_by_number.get(number)
    if verdict == NOT_FIT:
        return say("not_to_travel"), 0
    if verdict:
        return say("may_move"), 1
    return (say("watch"), 1) if uneasy else (say("stable"), 2)


def _observed(case: Case, row: Row) -> str:
    label = term("observation", "activity", row["state"])
    day = case.day_of_check(row["compared_with"])
    named = say("compared_day", day=day) if day else row["compared_with"]
    compared = say("compared", what=named) if named else ""
    state = say("seen_on", state=label, day=day_words(row["seen_on"])) if row["seen_on"] else label
    change = term("observation", "change", row["change"]).lower()
    return joined(state, joined(change, compared), row["evidence"], by="; ")


def _meaning(row: Row) -> str:
    agent = term("damage", "cause", row["cause"]).lower()
    how = term("damage", "cause_certainty", row["cause_certainty"]).lower()
    cause = (say("caused_by", agent=agent, how=how) if how else say("caused", agent=agent)) if agent else ""
    return joined(cause, _onset(row), by="; ") or say("not_said")


def _onset(row: Row) -> str:
    """When it began; of what is older than the register the year of its first record."""
    if row["onset"] is None:
        return ""
    first = str(row["first_seen_on"] or "")[:4]
    if row["onset"] in vocabulary("onset").terms_where("old") and first:
        return say("older_than_records", year=first)
    return say("began", onset=term("damage", "onset", row["onset"]).lower())
