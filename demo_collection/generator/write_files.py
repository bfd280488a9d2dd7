"""All files of the demonstration, drawn and written into a folder."""

import csv
import io
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from demo_collection.generator import (
    belongings,
    care,
    catalogue,
    climate,
    loans,
    mistakes,
    moves,
    museum,
    old_reports,
    places,
)
from demo_collection.generator.checks import simulate
from demo_collection.generator.collected import items
from demo_collection.generator.items import NEVER, Item
from demo_collection.generator.tables import csv_text, workbook

Row = dict[str, Any]
CLIMATE = {
    "climate_2016_2023.csv": (date(2016, 1, 1), date(2024, 1, 1)),
    "climate_2024_2026.csv": (date(2024, 1, 1), date(2027, 1, 1)),
}
MARK = b"\xef\xbb\xbf"


def write_all(folder: Path) -> None:
    """Draw everything and write it. The folder must be empty or not exist."""
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise FileExistsError(f"{folder} is not empty")
    for name, rows in _plain().items():
        (folder / name).write_text(csv_text(rows), "utf-8", newline="\n")
    (folder / "catalogue.csv").write_bytes(_catalogue())
    (folder / "bequest_list.csv").write_bytes(MARK + csv_text(list(catalogue.bequest_list()), ";").encode())
    for name, (first, last) in CLIMATE.items():
        (folder / name).write_text(climate.table(first, last), "utf-8", newline="\n")
    workbook(folder / "old_reports.xlsx", _old_reports())
    workbook(folder / "loans.xlsx", _loans())


def _plain() -> Mapping[str, list[Row]]:
    """Files that hold one record under its own headings."""
    return {
        "places.csv": list(places.locations()),
        "people.csv": list(museum.people()),
        "settings.csv": list(museum.settings()),
        "recent_acquisitions.csv": mistakes.in_recent(list(catalogue.recent())),
        "parts.csv": list(belongings.parts()),
        "measured_areas.csv": list(catalogue.measured()),
        "groups.csv": list(belongings.groups()),
        "surveys.csv": list(museum.surveys()),
        **_rounds(),
        **_cared(),
        "fragments.csv": list(belongings.fragments()),
        "significance.csv": list(belongings.significance()),
        "evidence.csv": list(belongings.evidence()),
        "moves.csv": list(moves.moves()),
        "place_checks.csv": list(places.place_checks()),
        "year_money.csv": list(museum.money()),
        "year_hours.csv": list(museum.hours()),
        "late_corrections.csv": mistakes.correction(simulate().rows["condition_check"]),
        "late_loan_objects.csv": _twice_lent(),
    }


def _rounds() -> Mapping[str, list[Row]]:
    rows = simulate().rows
    checks, damage = rows["condition_check"], rows["damage"]
    return {
        "checks.csv": mistakes.in_checks(checks),
        "coverage.csv": rows["coverage"],
        "damage.csv": mistakes.in_damage(damage),
        "observations.csv": mistakes.in_observations(rows["observation"], damage, checks),
        "repairs.csv": rows["repair"],
        "repair_states.csv": rows["repair_state"],
    }


def _cared() -> Mapping[str, list[Row]]:
    rows, ahead = simulate().rows, list(care.open_options())
    return {
        "options.csv": [*rows["option"], *(row for row, _ in ahead)],
        "option_effects.csv": [*rows["option_effect"], *(e for _, effects in ahead for e in effects)],
        "treatments.csv": rows["treatment"],
        "material_use.csv": rows["material_use"],
        "decisions.csv": list(care.decisions()),
        "targets.csv": list(care.targets()),
        "dangers.csv": list(care.dangers()),
    }


def _old_reports() -> Mapping[str, list[Row]]:
    return {
        "reports": list(old_reports.checks()),
        "damage": list(old_reports.damage()),
        "lines": list(old_reports.observations()),
    }


def _loans() -> Mapping[str, list[Row]]:
    """The workbook of loans; one cell holds a formula that nobody let calculate."""
    objects = list(loans.loan_objects())
    unseen = next(t.number for t in items() if t.looked == NEVER)
    objects.append({**objects[-1], "object_id": unseen, "crate_no": '=CONCATENATE("N-",2)'})
    return {
        "loans": list(loans.loans()),
        "venues": list(loans.legs()),
        "objects": objects,
        "states": list(loans.loan_states()),
    }


def _twice_lent() -> list[Row]:
    """An object that is with us on loan, listed to travel in the same months."""
    guest: Item = loans.travelling()[loans.INCOMING][0]
    return [{"loan_id": loans.AHEAD, "object_id": guest.number, "part": "whole", "rh_low": 38, "rh_high": 48}]


SPOILT: Mapping[str, Callable[[str], str]] = {
    "ragged": lambda line: f"{line},OB,",
    "quote": lambda line: line.replace("Painted", '"Painted', 1),
}


def _catalogue() -> bytes:
    """The old catalogue, with two rows that are broken as text and one byte that is no UTF-8."""
    rows = mistakes.in_catalogue(catalogue.old_catalogue())
    lines = csv_text(rows, above=catalogue.TITLES).split("\n")
    marks = {str(r["Accession No"]): r["RAW"] for r in rows if r.get("RAW")}
    done = [SPOILT[marks[first]](line) if (first := _first(line)) in marks else line for line in lines]
    return "\n".join(done).encode("utf-8", "surrogateescape")


def _first(line: str) -> str:
    return next(csv.reader(io.StringIO(line)), [""])[0] if line else ""
