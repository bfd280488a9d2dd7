"""The invented museum: its day, places, people, surveys, money and settings."""

from collections.abc import Iterator
from datetime import date
from typing import Any

Row = dict[str, Any]
TODAY = date(2026, 9, 30)
FIRST_DAY = date(2016, 1, 4)
MUSEUM = "The Harbour Museum of Applied Arts at Vellmouth"
INVENTED = "Invented for demonstration: this museum, its people and its objects do not exist"
CURRENCY = "GBP"
STRICT = "Edmund Farrier"
CONSERVATOR = "Lucie Amarant"
BENCH = "Petra Sandvold"
KEEPER = "Oona Brackwater"
LOGGERS = {"E1": "LOG-E1", "E2": "LOG-E2", "L1": "LOG-L1", "L2": "LOG-L2", "GA": "LOG-GA", "GW": "LOG-GW"}
UNITS = {"E1": 4, "E2": 5, "L1": 5, "L2": 6, "GA": 4, "GW": 3}

PEOPLE = [
    ("IH", "Ines Harrowgate", "Collections conservator", "MA conservation of metals", "2014", ""),
    ("TQ", "Tobias Quill", "Objects conservator", "BSc conservation", "2015-09", "2021-12"),
    ("PS", BENCH, "Objects conservator", "MA conservation of glass and ceramics", "2019-02", ""),
    ("EF", STRICT, "Visiting conservator, contract", "Diploma", "2020-01", "2022-12"),
    ("LA", CONSERVATOR, "Enamel conservator", "MA conservation, enamel on metal", "2022-03", ""),
    ("OB", KEEPER, "Keeper of applied arts", "", "2009", ""),
    ("MT", "Marlow Tenby", "Technician, mounts and packing", "", "2012", ""),
    ("RQ", "Rhoda Quennell", "Radiation protection adviser", "Certificate", "2018", ""),
    ("OWN-1", "a private owner (invented)", "Owner", "", "", ""),
    ("OWN-2", "The parish of St Bride in the Saltings (invented)", "Owner", "", "", ""),
    ("OWN-3", "Fenwater House (invented)", "Lender", "", "", ""),
]
SURVEYS = [
    (
        "S16",
        "Where is everything, and does it look sound from the shelf?",
        "Which shelves to inspect first",
        "sweep of all shelves",
        "2016-02-01",
        "2016-06-30",
    ),
    (
        "S17",
        "What is the state of the enamels, piece by piece?",
        "A plan for five years",
        "census, unstable glass first",
        "2017-02-01",
        "2018-11-30",
    ),
    (
        "S19",
        "Has anything moved since the first inspection?",
        "Whether five years between looks are enough",
        "one in two, drawn by room",
        "2019-09-02",
        "2020-11-30",
    ),
    ("S21", "Second inspection", "The bench's programme 2022-2024", "census", "2021-03-01", "2022-08-31"),
    (
        "S23",
        "What did the damp autumn of 2022 do in L2?",
        "What to move, what to dry",
        "census of L2",
        "2023-01-16",
        "2023-05-31",
    ),
    (
        "S24",
        "What did the hot fortnight do in the Gallery?",
        "Blinds, and what comes off show",
        "census of the Gallery",
        "2024-08-05",
        "2024-09-30",
    ),
    ("S25", "Audit: is it there?", "The list of missing objects", "sweep of all shelves", "2025-02-03", "2025-06-30"),
    ("S26", "Third inspection", "The plan 2027-2031", "census, worst first", "2025-09-01", "2026-09-18"),
]


def people() -> Iterator[Row]:
    """Rows of record person."""
    for person_id, name, role, qualification, starts_on, ends_on in PEOPLE:
        yield {
            "person_id": person_id,
            "name": name,
            "role": role,
            "qualification": qualification,
            "organisation": "" if person_id.startswith("OWN") else MUSEUM,
            "starts_on": starts_on,
            "ends_on": ends_on,
        }


def surveys() -> Iterator[Row]:
    """Rows of record survey."""
    for survey_id, question, serves, design, starts_on, ends_on in SURVEYS:
        yield {
            "survey_id": survey_id,
            "question": question,
            "decision_it_serves": serves,
            "definitions_version": "1",
            "frame": "objects on the shelf list of that year",
            "design": design,
            "seed": 1931,
            "starts_on": starts_on,
            "ends_on": ends_on,
        }


def examiner_in(day: date, turn: float) -> str:
    """Who looks on a day; `turn` between 0 and 1 decides among those in the house."""
    here = ["Ines Harrowgate"]
    here += ["Tobias Quill"] if day < date(2021, 12, 1) else []
    here += [BENCH] if day > date(2019, 2, 1) else []
    here += [STRICT, STRICT] if date(2020, 1, 6) <= day <= date(2022, 12, 30) else []
    here += [CONSERVATOR] if day > date(2022, 3, 1) else []
    return here[min(int(turn * len(here)), len(here) - 1)]


def money() -> Iterator[Row]:
    """Rows of record year_money: the yearly budget, and a gift that must be spent by March."""
    for year, amount in ((2024, "5200.00"), (2025, "5400.00"), (2026, "5600.00"), (2027, "5600.00")):
        yield {
            "year": year,
            "fund": "conservation budget",
            "money": amount,
            "currency": CURRENCY,
            "spend_by": f"{year}-12-31",
        }
    yield {
        "year": 2027,
        "fund": "the Brackwater gift (invented)",
        "money": "3000.00",
        "currency": CURRENCY,
        "spend_by": "2027-03-31",
    }


def hours() -> Iterator[Row]:
    """Rows of record year_hours: two skills."""
    for year in (2024, 2025, 2026, 2027):
        yield {"year": year, "skill": "enamel_conservator", "hours": 110 if year < 2026 else 130}
        yield {"year": year, "skill": "technician", "hours": 60}


def settings() -> Iterator[Row]:
    """Rows of record setting."""
    values = {
        "museum": MUSEUM,
        "invented": INVENTED,
        "today": TODAY.isoformat(),
        "currency": CURRENCY,
        "treat_from": "0.001",
        "hours_a_week": "3",
        "value_basis": "value_points",
    }
    for name, value in values.items():
        yield {"name": name, "value": value, "set_by": KEEPER, "set_on": "2026-01-05"}
