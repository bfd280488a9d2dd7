"""All files of the demonstration, drawn and written into a folder."""

import csv
import io
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

from demo_collection.generator import catalogue, climate, decisions, documents, loans, mistakes
from demo_collection.generator.file_formats import csv_text, write_workbook
from demo_collection.generator.simulation import simulate
from demo_collection.generator.tables import COPIED, Row

BYTE_ORDER_MARK = b"\xef\xbb\xbf"
# What happens to a row of the catalogue that is broken as text.
BROKEN: Mapping[str, Callable[[str], str]] = {
    "ragged": lambda line: f"{line},OB,",
    "quote": lambda line: line.replace("Painted", '"Painted', 1),
}


def write_all(folder: Path) -> None:
    """Draw everything and write it. The folder must be empty or not exist."""
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise FileExistsError(f"{folder} is not empty")
    for path in COPIED.iterdir():
        shutil.copyfile(path, folder / path.name)
    for name, rows in {**_objects(), **_checks(), **_treatments()}.items():
        (folder / name).write_text(csv_text(rows), "utf-8", newline="\n")
    (folder / "catalogue.csv").write_bytes(_catalogue())
    bequest = csv_text(list(catalogue.bequest_list()), ";")
    (folder / "bequest_list.csv").write_bytes(BYTE_ORDER_MARK + bequest.encode())
    for name, (first, last) in climate.FILES.items():
        (folder / name).write_text(climate.readings(first, last), "utf-8", newline="\n")
    write_workbook(folder / "old_reports.xlsx", documents.old_reports())
    write_workbook(folder / "loans.xlsx", loans.workbook_sheets())


def _objects() -> Mapping[str, list[Row]]:
    """Files of objects and what goes with them."""
    return {
        "recent_acquisitions.csv": mistakes.in_recent_acquisitions(list(catalogue.recent_acquisitions())),
        "measured_areas.csv": list(catalogue.measured_areas()),
        "parts.csv": list(documents.parts()),
        "fragments.csv": list(documents.fragments()),
        "significance.csv": list(documents.significance()),
        "evidence.csv": list(documents.evidence()),
        "dangers.csv": list(decisions.dangers()),
        "moves.csv": list(loans.moves()),
    }


def _checks() -> Mapping[str, list[Row]]:
    """Files of what was seen."""
    rows = simulate().rows
    checks, damage = rows["condition_check"], rows["damage"]
    return {
        "checks.csv": mistakes.in_checks(checks),
        "coverage.csv": rows["coverage"],
        "damage.csv": mistakes.in_damage(damage),
        "observations.csv": mistakes.in_observations(rows["observation"], damage, checks),
        "repairs.csv": rows["repair"],
        "repair_states.csv": rows["repair_state"],
        "late_corrections.csv": mistakes.correction(checks),
    }


def _treatments() -> Mapping[str, list[Row]]:
    """Files of what was done and what is planned."""
    rows, ahead = simulate().rows, list(decisions.open_options())
    return {
        "options.csv": [*rows["option"], *(option for option, _ in ahead)],
        "option_effects.csv": [*rows["option_effect"], *(effect for _, effects in ahead for effect in effects)],
        "treatments.csv": rows["treatment"],
        "material_use.csv": rows["material_use"],
        "decisions.csv": list(decisions.decisions()),
        "targets.csv": list(decisions.targets()),
    }


def _catalogue() -> bytes:
    """The old catalogue, with two rows that are broken as text and one byte that is no UTF-8."""
    rows = mistakes.in_catalogue(catalogue.old_catalogue())
    broken = {str(r["Accession No"]): BROKEN[r["RAW"]] for r in rows if r.get("RAW")}
    lines = csv_text(rows, above=catalogue.TITLES).split("\n")
    written = [broken[number](line) if (number := _first_cell(line)) in broken else line for line in lines]
    return "\n".join(written).encode("utf-8", "surrogateescape")


def _first_cell(line: str) -> str:
    return next(csv.reader(io.StringIO(line)), [""])[0] if line else ""
