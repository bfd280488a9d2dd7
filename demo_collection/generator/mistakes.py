"""Mistakes put in on purpose, one of each kind that a file can hold, so that the page of refused rows is not empty.

Where each stands and which rule refuses it is listed apart, in tests/demo_collection/refused_rows.csv."""

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
    240: {"Accession No": "1984.144", "Condition": "chipped", "Condition date": "1978-13"},
    270: {"Accession No": "1985.129", "Status": "on the windowsill"},
    300: {"Accession No": "1992.131", "RAW": "ragged"},
    330: {"Accession No": "1989.127", "RAW": "quote"},
    340: {"Accession No": "vh 38/1"},
    360: {"Accession No": "1983.141", "RAW": "bytes"},
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
    """The old catalogue with its mistakes, blank rows, repeated rows and things that are no enamel on metal."""
    twice = {**rows[40], "Title": "Another thing altogether", "Notes": "number given twice"}
    put_in = [(60, twice), (75, rows[41]), (390, rows[44]), *((place, {}) for place in BLANK)]
    put_in += [(place, {**BOX, **wrong}) for place, wrong in WRONG.items()]
    whole = [*rows, *(dict(r) for r in NOT_ENAMEL)]
    for place, row in sorted(put_in, key=lambda pair: pair[0], reverse=True):
        whole.insert(place, row)
    return whole


def in_recent(rows: list[Row]) -> list[Row]:
    """Five wrong rows among the recent acquisitions."""
    model = {**rows[0], "insured_value": "", "currency": ""}
    wrong = [
        {"object_id": "2023.901", "earliest_year": 0},
        {"object_id": "2023.902", "earliest_year": 1920, "latest_year": 1890},
        {"object_id": "2023.903", "height_mm": -12},
        {"object_id": "2023.904", "height_mm": "14 ells"},
        {"object_id": "2023.905", "location_id": "Q9-9"},
        {"object_id": "2023.906", "insured_value": "400.00", "currency": "pounds"},
    ]
    return [*rows[:6], *({**model, **w} for w in wrong), *rows[6:]]


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
