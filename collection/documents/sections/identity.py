"""Which object this is, in what it was made, and how it is built."""

from collections.abc import Iterator

from collection.documents.case import Case
from collection.documents.cells import Row, always, facts, figure, joined, part, quantity, term, yes_no
from collection.documents.document import Block
from collection.documents.words import columns, say, title
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

SIZES = (("size_h", "height_mm"), ("size_w", "width_mm"), ("size_d", "depth_mm"), ("size_o", "diameter_mm"))
PACKED = (("size_h", "packed_height_mm"), ("size_w", "packed_width_mm"), ("size_d", "packed_depth_mm"))
MM2_A_CM2, CM2, ROUND_CM2 = 100, "cm²", 2  # an area nobody needs to the square millimetre


def identity(case: Case) -> Iterator[Block]:
    """What identifies it; what is not recorded is said so, with room to write it."""
    row = case.object_row
    asked = always(
        ("number", row["object_id"]),
        ("title", row["title"]),
        ("object_type", term("object", "object_type", row["object_type"])),
        ("maker", row["maker"]),
        ("culture", row["culture"]),
        ("made", period(row)),
        ("technique", term("object", "technique", row["technique"])),
        ("metal", metal(row)),
        ("marks", row["marks"]),
        ("inscription", row["inscription"]),
        ("size", sizes("object", row, SIZES)),
        ("packed_size", joined(sizes("loan_object", case.terms_of_loan, PACKED), _packed_mass(case))),
        ("mass", quantity("object", "mass_g", row["mass_g"])),
        ("credit", row["credit_line"]),
    )
    more = facts(
        ("other_numbers", row["other_numbers"]),
        ("count_of_items", figure(row["count_of_items"])),
        ("belongs_to", case.setting("museum")),
        ("group", joined(*(_group(case, its) for its in case.rows("object_group", "group_id", "part")), by="; ")),
    )
    yield Block("facts", title("identity"), (*asked, *more, *_further_facts(case)))


def _further_facts(case: Case) -> Iterator[Row]:
    """Facts under headings of the museum's own, as far as it has said that reports may print them."""
    names = {name.strip().lower() for name in case.setting("facts_in_reports").split(";")}
    for row in case.rows("further_fact", "name"):
        if row["name"].lower() in names:
            yield {"key": "further_fact", "label": row["name"], "text": row["text"]}


def short_identity(case: Case) -> Iterator[Block]:
    """What a courier needs to know which object it is."""
    row = case.object_row
    rows = always(
        ("number", row["object_id"]),
        ("title", row["title"]),
        ("made", joined(row["maker"], row["culture"], period(row))),
        ("technique", joined(term("object", "technique", row["technique"]), metal(row))),
        ("size", sizes("object", row, SIZES)),
        ("packed_size", joined(sizes("loan_object", case.terms_of_loan, PACKED), _packed_mass(case))),
    )
    yield Block("facts", title("identity"), (*rows, *facts(("belongs_to", case.setting("museum")))))


def construction(case: Case) -> Iterator[Block]:
    """Frame, glazing, reverse, glass; the named parts where there is more than the whole."""
    row = case.object_row
    rows = always(
        ("framed", "" if row["framed"] is None else yes_no(row["framed"])),
        ("glazed", "" if row["glazed"] is None else yes_no(row["glazed"])),
        ("counter_enamel", term("object", "counter_enamel", row["counter_enamel"])),
        ("glass", glass(row)),
    )
    yield Block("facts", title("construction"), rows)
    named = [its for its in case.rows("part", "part") if its["part"] != WHOLE]
    names = columns("part", "kind", "made_of", "origin", "removable", "sizes")
    yield Block("table", title("parts"), tuple(map(_part, named)), names)


def period(row: Row) -> str:
    """As written in the catalogue, else the years read from it."""
    first, last = row["earliest_year"], row["latest_year"]
    if row["period_text"] or first is None or last is None:
        return str(row["period_text"] or "")
    return say("read_one_year", first=first) if first == last else say("read_from_catalogue", first=first, last=last)


def glass(row: Row) -> str:
    """Chemical stability of the glass in words."""
    term_ = row["glass_stability"]
    if term_ is None:
        return ""
    known = vocabulary("glass_stability").term[term_]
    return f"{known.label}: {known.definition[0].lower()}{known.definition[1:]}"


def metal(row: Row) -> str:
    """Base metal, its finish, and the wires."""
    base, finish = (term("object", name, row[name]) for name in ("base_metal", "metal_finish"))
    named = say("metal_finish", metal=base, finish=finish.lower()) if base and finish else base or finish
    wires = term("object", "wire_metal", row["wire_metal"])
    return joined(named, say("wires", metal=wires.lower()) if wires else "", by="; ")


def sizes(record: str, row: Row, names: tuple[tuple[str, str], ...]) -> str:
    """Height, width, depth, diameter as known, and the enamelled area of an object."""
    known = [say(word, v=quantity(record, name, row[name])) for word, name in names if row.get(name) is not None]
    area = row.get("enamel_area_mm2")
    return joined(*known, say("enamel_area", v=rough_area(area)) if area else "")


def rough_area(mm2: float) -> str:
    """An area as a person says it: *about 1,400 cm²*."""
    cm2 = float(f"{mm2 / MM2_A_CM2:.{ROUND_CM2}g}")
    return f"{cm2:,.0f} {CM2}" if cm2 >= 1 else f"{cm2:g} {CM2}"


def _packed_mass(case: Case) -> str:
    return quantity("loan_object", "packed_mass_g", case.terms_of_loan.get("packed_mass_g"))


def _part(row: Row) -> dict[str, str]:
    return {
        "part": part(row["part"]),
        "kind": term("part", "part_kind", row["part_kind"]),
        "made_of": joined(term("part", "technique", row["technique"]), term("part", "base_metal", row["base_metal"]))
        or say("not_said"),
        "origin": term("part", "originality", row["originality"]) or say("not_said"),
        "removable": yes_no(row["removable"]),
        "sizes": sizes("part", row, SIZES[:-1]) or say("not_said"),
    }


def _group(case: Case, row: Row) -> str:
    named = joined(term("object_group", "kind", row["kind"]), row["group_id"], row["role"])
    others = (case.also.partners or {}).get(row["group_id"], ())
    with_others = say("partner", group=named, numbers=joined(*others)) if others else named
    return say("move_together", group=with_others) if row["move_together"] else with_others
