"""Which object this is, what it is made of, and which look the report tells of."""

from collections.abc import Iterator

from collection.documents.case import Case
from collection.documents.cells import Row, facts, figure, joined, paragraphs, part, quantity, term, yes_no
from collection.documents.document import Block
from collection.documents.words import columns, say, text, title, words
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

SIZES = (("size_h", "height_mm"), ("size_w", "width_mm"), ("size_d", "depth_mm"), ("size_o", "diameter_mm"))


def identity(case: Case) -> Iterator[Block]:
    """Number, title, making, material, dimensions, what it belongs with."""
    row = case.object_row
    rows = facts(
        ("number", row["object_id"]),
        ("other_numbers", row["other_numbers"]),
        ("title", row["title"]),
        ("object_type", term("object", "object_type", row["object_type"])),
        ("count_of_items", figure(row["count_of_items"])),
        ("culture", row["culture"]),
        ("period", row["period_text"]),
        ("technique", term("object", "technique", row["technique"])),
        ("metal", _metal(row)),
        ("counter_enamel", term("object", "counter_enamel", row["counter_enamel"])),
        ("glass", term("object", "glass_stability", row["glass_stability"])),
        ("dimensions", _dimensions(row)),
        ("mass", quantity("object", "mass_g", row["mass_g"])),
        ("group", joined(*(_group(row) for row in case.rows("object_group", "group_id", "part")), by="; ")),
        ("belongs_to", case.setting("museum")),
    )
    yield Block("facts", title("identity"), rows)


def occasion(case: Case) -> Iterator[Block]:
    """State, loan, and how closely, when and with what light the object was looked at; what is wanting in that."""
    check, loan, stated = case.check or {}, case.loan or {}, case.stated or {}
    ours, theirs = sides(case)
    rows = facts(
        ("state", _state(case)),
        ("made_on", case.made_on.isoformat()),
        ("notice", case.setting("invented")),
        ("loan", loan.get("loan_id") or text("no_loan")),
        ("lender", ours if loan else ""),
        ("borrower", theirs),
        ("purpose", loan.get("purpose")),
        ("agreement", loan.get("agreement_ref")),
        ("venues", joined(*(_venue(leg) for leg in case.of_loan("loan_leg", "leg")), by="; ")),
        ("place", stated.get("place")),
        ("looked_on", check.get("checked_on") or (say("undated") if check else "")),
        ("look", _look(check)),
        ("occasion", term("condition_check", "occasion", check.get("occasion"))),
        ("method", (check.get("method") or say("not_said")) if check else ""),
        ("definitions", check.get("definitions_version")),
        ("rests_on", _shortcoming(case)),
    )
    yield Block("facts", title("occasion"), rows)


def parts(case: Case) -> Iterator[Block]:
    """The named parts, where there is more than the whole."""
    named = [row for row in case.rows("part", "part") if row["part"] != WHOLE]
    yield Block(
        "table",
        title("parts"),
        tuple(
            {
                "part": part(row["part"]),
                "kind": term("part", "part_kind", row["part_kind"]),
                "made_of": joined(
                    term("part", "technique", row["technique"]), term("part", "base_metal", row["base_metal"])
                ),
                "origin": term("part", "originality", row["originality"]),
                "removable": yes_no(row["removable"]),
            }
            for row in named
        ),
        columns("part", "kind", "made_of", "origin", "removable"),
    )


def not_examined(case: Case) -> Iterator[Block]:
    """Sides that look did not see, and why; or that the record does not say."""
    covered = [
        r for r in case.rows("coverage", "part", "side") if case.check and r["check_id"] == case.check["check_id"]
    ]
    looked = vocabulary("seen").terms_where("looked")
    unseen = tuple(
        {
            "part": part(row["part"]),
            "side": term("coverage", "side", row["side"]),
            "seen": term("coverage", "seen", row["seen"]),
            "why": row["why"] or say("not_said"),
        }
        for row in covered
        if row["seen"] not in looked
    )
    if unseen:
        yield Block("table", title("not_examined"), unseen, columns("part", "side", "seen", "why"))
    else:
        sentence = "nothing_examined" if case.check is None else "all_seen" if covered else "sides_not_recorded"
        yield Block("text", title("not_examined"), paragraphs([text(sentence)]))


def sides(case: Case) -> tuple[str, str]:
    """Who lends and who borrows; the roles are swapped for a loan in."""
    other = (case.loan or {}).get("borrower") or ""
    swapped = vocabulary("loan_direction").terms_where("roles_swapped")
    ours = case.setting("museum")
    return (other, ours) if case.loan and case.loan["direction"] in swapped else (ours, other)


def _state(case: Case) -> str:
    known = vocabulary("loan_state").term[case.state]
    return f"{known.label}: {known.definition[0].lower()}{known.definition[1:]}"


def _look(check: Row) -> str:
    return joined(
        term("condition_check", "look", check.get("look")), term("condition_check", "visit", check.get("visit")).lower()
    )


def _shortcoming(case: Case) -> str:
    """Why the look does not suffice for a state that is to be signed, if it does not."""
    if case.check is None:
        return text("nobody_looked")
    days, day = int(words()["look"]["days"]), case.check["checked_on_latest"]
    if case.check["look"] not in vocabulary("look").terms_where("each_damage"):
        return text(
            "look_too_light", look=_look({"look": case.check["look"]}).lower(), day=case.check["checked_on"], days=days
        )
    late = day is not None and (case.made_on - day).days > days
    return text("look_too_old", day=case.check["checked_on"], days=days) if late else ""


def _metal(row: Row) -> str:
    base, finish = (
        term("object", "base_metal", row["base_metal"]),
        term("object", "metal_finish", row["metal_finish"]),
    )
    metal = say("metal_finish", metal=base, finish=finish.lower()) if base and finish else base or finish
    wires = term("object", "wire_metal", row["wire_metal"])
    return joined(metal, say("wires", metal=wires.lower()) if wires else "", by="; ")


def _dimensions(row: Row) -> str:
    sizes = [say(word, v=quantity("object", name, row[name])) for word, name in SIZES if row[name] is not None]
    area = row["enamel_area_mm2"]
    return joined(*sizes, say("enamel_area", v=quantity("object", "enamel_area_mm2", area)) if area else "")


def _group(row: Row) -> str:
    named = joined(term("object_group", "kind", row["kind"]), row["group_id"], row["role"])
    return say("move_together", group=named) if row["move_together"] else named


def _venue(leg: Row) -> str:
    first, last = (leg[n].isoformat() if leg[n] else "…" for n in ("starts_on", "ends_on"))
    return say("venue", venue=leg["venue"] or say("not_said"), dates=say("dates", first=first, last=last))
