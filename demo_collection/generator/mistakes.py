"""Mistakes put in on purpose, one of each kind that a file can hold, so that the page of refused rows is not empty.

Rows that are refused are put between the others; an odd cell stands in the row of an object that is there anyway.
Where each stands and which rule names it is listed apart, in tests/demo_collection (refused_rows.csv, ODD_CELLS)."""

from typing import Any

Row = dict[str, Any]
LONG = "see letter; " * 2_800  # longer than a spreadsheet cell can be

BLANK = (100, 101, 310, 391)
BOX = {
    "Object name": "Box",
    "Title": "Box",
    "Material and technique": "Painted enamel on copper",
    "Date": "c. 1780",
}
# Place in the catalogue to what is wrong with the box that stands there; RAW names a row that is broken as bytes.
WRONG: dict[int, Row] = {
    120: {"Accession No": "1961.\u200b212"},
    150: {"Accession No": "../cards/1962.9"},
    180: {"Accession No": "", "Notes": "found in the drawer, no number"},
    210: {"Accession No": "1967.133", "Notes": LONG},
    300: {"Accession No": "1992.131", "RAW": "ragged"},
    330: {"Accession No": "1989.127", "RAW": "quote"},
    340: {"Accession No": "vh 38/1"},
}
# Accession number to the cells of that row that cannot be read; a surrogate is written as one byte that is no UTF-8.
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
# What the catalogue holds and the register is not for.
NOT_ENAMEL = [
    {
        "Accession No": "1936.151",
        "Object name": "Pendant",
        "Title": "Pendant, garnet cloisonne",
        "Material and technique": "Gold, garnet cloisonne inlay",
        "Date": "6th century",
    },
    {
        "Accession No": "1952.160",
        "Object name": "Cup",
        "Title": "Cup and saucer",
        "Material and technique": "Porcelain, overglaze enamels",
        "Date": "c. 1770",
    },
    {
        "Accession No": "1966.140",
        "Object name": "Gobelet",
        "Title": "Gobelet armorié",
        "Material and technique": "Verre émaillé",
        "Date": "vers 1600",
    },
    {
        "Accession No": "1958.150",
        "Object name": "Dose",
        "Title": "Dose mit Niello",
        "Material and technique": "Silber, Niello",
        "Date": "um 1830",
    },
    {
        "Accession No": "1978.166",
        "Object name": "Tray",
        "Title": "Tray, japanned",
        "Material and technique": "Iron, japanned",
        "Date": "c. 1800",
    },
    {
        "Accession No": "2004.170",
        "Object name": "Badge",
        "Title": "Badge, Harbour Fête",
        "Material and technique": "Brass, soft enamel",
        "Date": "1988",
    },
]


def in_catalogue(rows: list[Row]) -> list[Row]:
    """The old catalogue with its mistakes, blank rows, repeated rows and objects that are no enamel on metal."""
    twice = {**rows[40], "Title": "Another thing altogether", "Notes": "number given twice"}
    put_in = [(60, twice), (75, rows[41]), (390, rows[44]), *((place, {}) for place in BLANK)]
    put_in += [(place, {**BOX, **wrong}) for place, wrong in WRONG.items()]
    whole = [{**row, **ODD_IN_CATALOGUE.get(row["Accession No"], {})} for row in rows]
    whole += [dict(r) for r in NOT_ENAMEL]
    for place, row in sorted(put_in, key=lambda pair: pair[0], reverse=True):
        whole.insert(place, row)
    return whole


def in_recent(rows: list[Row]) -> list[Row]:
    """Five odd cells among the recent acquisitions, and a row in a place that does not exist."""
    odd = [{**row, **ODD_IN_RECENT.get(row["object_id"], {})} for row in rows]
    nowhere = {**rows[0], "insured_value": "", "currency": "", "object_id": "2023.905", "location_id": "Q9-9"}
    return [*odd[:6], nowhere, *odd[6:]]


def in_checks(rows: list[Row]) -> list[Row]:
    """A check without a day."""
    return [
        *rows[:700],
        {**rows[700], "check_id": "C-lost", "checked_on": "", "signed_on": "", "survey_id": ""},
        *rows[700:],
    ]


def in_damage(rows: list[Row]) -> list[Row]:
    """Damage of a part that the object does not have."""
    return [
        *rows[:120],
        {**rows[119], "damage_id": "D9001", "part": "spout", "closed_on": "", "closed_by": ""},
        *rows[120:],
    ]


def in_observations(rows: list[Row], damage: list[Row], checks: list[Row]) -> list[Row]:
    """Lines that belong to nothing, to another object, to a closed damage, or say what cannot be."""
    owner = {c["check_id"]: c["object_id"] for c in checks}
    day = {c["check_id"]: c["checked_on"] for c in checks}
    weeping = next(d for d in damage if d["kind"] == "weeping" and not d["closed_on"])
    closed = next(d for d in damage if d["closed_on"] and any(_later(c, d) for c in checks))
    after = next(c for c in checks if _later(c, closed))
    seen = {(r["check_id"], r["damage_id"]) for r in rows}
    its = next(
        c
        for c in reversed(checks)
        if owner[c["check_id"]] == weeping["object_id"] and (c["check_id"], weeping["damage_id"]) not in seen
    )
    other = next(c for c in checks if owner[c["check_id"]] != weeping["object_id"] and day[c["check_id"]].year == 2026)
    base = {"severity": "minor", "activity": "unknown"}
    wrong = [
        {"check_id": after["check_id"], "damage_id": closed["damage_id"], "severity": "minor", "change": "unchanged"},
        {**base, "check_id": other["check_id"], "damage_id": weeping["damage_id"]},
        {
            **base,
            "check_id": its["check_id"],
            "damage_id": weeping["damage_id"],
            "activity": "stable",
            "compared_with": "slide of 1981",
        },
        {**base, "check_id": other["check_id"], "damage_id": "D9001"},
        {**base, "check_id": "C-none", "damage_id": weeping["damage_id"]},
    ]
    return [*rows[:900], *wrong, *rows[900:]]


def _later(check: Row, damage: Row) -> bool:
    return bool(check["object_id"] == damage["object_id"] and check["checked_on"] > damage["closed_on"])


def correction(checks: list[Row]) -> list[Row]:
    """A signed check with another grade, instead of a new check that supersedes it."""
    signed = next(c for c in checks if c["signed_on"] and c["grade"] == "fair")
    return [{**signed, "grade": "good", "summary_observed": "better than I wrote"}]
