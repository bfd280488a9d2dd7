"""Mistakes put in on purpose, one of each kind that a file can hold, so that the page of refused rows is not empty.

Rows that are refused are put between the others; an odd cell stands in the row of an object that is there anyway.
Where each stands and which rule names it is listed apart, in tests/demo_collection (refused_rows.csv, ODD_CELLS)."""

from demo_collection.generator.tables import Row, table

LONG = "see letter; " * 2_800  # longer than a spreadsheet cell can be
BLANK = (100, 101, 310, 391)
BOX = {"Object name": "Box", "Title": "Box", "Material and technique": "Painted enamel on copper", "Date": "c. 1780"}
# Place in the catalogue to what is wrong with the box that stands there; RAW names a row that is broken as text.
WRONG: dict[int, Row] = {
    120: {"Accession No": "1961.\u200b212"},
    150: {"Accession No": "../cards/1962.9"},
    180: {"Accession No": "", "Notes": "found in the drawer, no number"},
    210: {"Accession No": "1967.133", "Notes": LONG},
    300: {"Accession No": "1992.131", "RAW": "ragged"},
    330: {"Accession No": "1989.127", "RAW": "quote"},
    340: {"Accession No": "vh 38/1"},
}
# Number to the cells of that row that cannot be read; a surrogate is written as one byte that is no UTF-8.
ODD_IN_CATALOGUE: dict[str, Row] = {
    "1958.10": {"Condition date": "1978-13"},
    "1985.4": {"Status": "on the windowsill"},
    "1963.3": {"Title": "Bo\udceete"},
}
ODD_IN_RECENT: dict[str, Row] = {
    "2022.006": {"earliest_year": 0},
    "2023.004": {"earliest_year": 1807, "latest_year": 1787},
    "2022.004": {"height_mm": -12},
    "2023.005": {"width_mm": "1 ell"},
    "2020.004": {"currency": "pounds"},
}


def in_catalogue(rows: list[Row]) -> list[Row]:
    """The old catalogue with its mistakes, blank rows, repeated rows and objects that are no enamel on metal."""
    twice = {**rows[40], "Title": "Another thing altogether", "Notes": "number given twice"}
    put_in = [(60, twice), (75, rows[41]), (390, rows[44]), *((place, {}) for place in BLANK)]
    put_in += [(place, {**BOX, **wrong}) for place, wrong in WRONG.items()]
    whole = [{**row, **ODD_IN_CATALOGUE.get(row["Accession No"], {})} for row in rows] + table("not_enamel")
    for place, row in sorted(put_in, key=lambda pair: pair[0], reverse=True):
        whole.insert(place, row)
    return whole


def in_recent_acquisitions(rows: list[Row]) -> list[Row]:
    """Five odd cells among the recent acquisitions, and a row in a place that does not exist."""
    odd = [{**row, **ODD_IN_RECENT.get(row["object_id"], {})} for row in rows]
    nowhere = {**rows[0], "insured_value": "", "currency": "", "object_id": "2023.905", "location_id": "Q9-9"}
    return _with(odd, 6, nowhere)


def in_checks(rows: list[Row]) -> list[Row]:
    """A check without a day."""
    undated = {"check_id": "C-lost", "checked_on": "", "signed_on": "", "survey_id": ""}
    return _with(rows, 700, {**rows[700], **undated})


def in_damage(rows: list[Row]) -> list[Row]:
    """Damage of a part that the object does not have."""
    return _with(rows, 120, {**rows[119], "damage_id": "D9001", "part": "spout", "closed_on": "", "closed_by": ""})


def in_observations(rows: list[Row], damage: list[Row], checks: list[Row]) -> list[Row]:
    """Lines that belong to nothing, to another object, to a closed damage, or say what cannot be."""
    weeping = next(d for d in damage if d["kind"] == "weeping" and not d["closed_on"])
    closed, after = next((d, c) for d in damage if d["closed_on"] for c in checks if _later(c, d))
    seen = {(r["check_id"], r["damage_id"]) for r in rows}
    own = [c["check_id"] for c in reversed(checks) if c["object_id"] == weeping["object_id"]]
    its = next(check_id for check_id in own if (check_id, weeping["damage_id"]) not in seen)
    others = (c for c in checks if c["object_id"] != weeping["object_id"] and c["checked_on"].year == 2026)
    other = next(others)["check_id"]
    line = {"severity": "minor", "activity": "unknown", "damage_id": weeping["damage_id"]}
    unchanged = {"damage_id": closed["damage_id"], "severity": "minor", "change": "unchanged"}
    wrong = [
        {**unchanged, "check_id": after["check_id"]},
        {**line, "check_id": other},
        {**line, "check_id": its, "activity": "stable", "compared_with": "slide of 1981"},
        {**line, "check_id": other, "damage_id": "D9001"},
        {**line, "check_id": "C-none"},
    ]
    return _with(rows, 900, *wrong)


def _later(check: Row, damage: Row) -> bool:
    return bool(check["object_id"] == damage["object_id"] and check["checked_on"] > damage["closed_on"])


def _with(rows: list[Row], place: int, *more: Row) -> list[Row]:
    return [*rows[:place], *more, *rows[place:]]


def correction(checks: list[Row]) -> list[Row]:
    """A signed check with another grade, instead of a new check that supersedes it."""
    signed = next(c for c in checks if c["signed_on"] and c["grade"] == "fair")
    return [{**signed, "grade": "good", "summary_observed": "better than I wrote"}]
