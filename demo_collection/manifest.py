"""The shipped files in the order in which they are brought in, and the climate files as frames."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import polars as pl

FILES = Path(__file__).parent / "files"


@dataclass(frozen=True)
class Delivery:
    """Files that are brought in together, in one judgement: a signed check and its lines belong to one delivery.

    `record`: what every sheet holds; None where the headings say it. `mapping`: a saved mapping beside the files.
    """

    files: tuple[str, ...]
    record: str | None = None
    mapping: str | None = None

    @property
    def paths(self) -> tuple[Path, ...]:
        """Where the files lie."""
        return tuple(FILES / name for name in self.files)


DELIVERIES: tuple[Delivery, ...] = (
    Delivery(("settings.csv",), "setting"),
    Delivery(("places.csv",), "location"),
    Delivery(("people.csv",), "person"),
    Delivery(("catalogue.csv",), "object"),
    Delivery(("bequest_list.csv",), "object"),
    Delivery(("recent_acquisitions.csv",), "object"),
    Delivery(("measured_areas.csv",), "object"),
    Delivery(("masses.csv",), "object"),
    Delivery(("origins.csv",), "object"),
    Delivery(("parts.csv",), "part"),
    Delivery(("groups.csv",), "object_group"),
    Delivery(("significance.csv",), "significance"),
    Delivery(("surveys.csv",), "survey"),
    Delivery(("survey_units.csv",), "survey_unit"),
    Delivery(("options.csv",), "option"),
    Delivery(("treatments.csv",), "treatment"),
    Delivery(("old_reports.xlsx",)),
    Delivery(("checks.csv", "coverage.csv", "damage.csv", "observations.csv", "repairs.csv", "repair_states.csv")),
    Delivery(("option_effects.csv",), "option_effect"),
    Delivery(("material_use.csv",), "material_use"),
    Delivery(("fragments.csv",), "fragment"),
    Delivery(("actions.csv",), "action"),
    Delivery(("dangers.csv",), "danger_to_people"),
    Delivery(("evidence.csv",), "evidence"),
    Delivery(("moves.csv",), "move"),
    Delivery(("place_checks.csv",), "place_check"),
    Delivery(("targets.csv",), "target"),
    Delivery(("decisions.csv",), "decision"),
    Delivery(("loans.xlsx",)),
    Delivery(("requirements.csv",), "requirement"),
    Delivery(("flaws.csv",), "damage"),
    Delivery(("loan_checks.csv", "loan_observations.csv", "loan_repair_states.csv")),
    Delivery(("setup_groups.csv",), "setup_group"),
    Delivery(("place_options.csv",), "option"),
    Delivery(("option_setups.csv",), "option"),
    Delivery(("location_effects.csv",), "location_effect"),
    Delivery(("option_adds.csv",), "option_adds"),
    Delivery(("musts.csv",), "must"),
    Delivery(("year_money.csv",), "year_money"),
    Delivery(("year_hours.csv",), "year_hours"),
    Delivery(("late_corrections.csv",), "condition_check"),
    Delivery(("late_loan_objects.csv",), "loan_object"),
)
CLIMATE_FILES = ("climate_2016_2023.csv", "climate_2024_2026.csv")
LOGGERS: Mapping[str, str] = {f"LOG-{place}": place for place in ("E1", "E2", "L1", "L2", "GA", "GW")}


def climate_frames(name: str) -> Iterator[pl.DataFrame]:
    """Readings of one climate file, a frame a logger: logger, place, time (UTC), temperature [°C], humidity [%]."""
    wide = pl.read_csv(FILES / name, infer_schema=False).with_columns(
        read_at=pl.col("read_at_utc").str.to_datetime("%Y-%m-%dT%H:%M", time_unit="us"), source_zone=pl.lit("UTC")
    )
    for logger, place in LOGGERS.items():
        yield wide.select(
            "read_at",
            "source_zone",
            logger_id=pl.lit(logger),
            location_id=pl.lit(place),
            temperature_c=pl.col(f"{logger} °C").cast(pl.Float64),
            rh_percent=pl.col(f"{logger} %RH").cast(pl.Float64),
        )


def climate_digest(name: str) -> str:
    """SHA-256 of a climate file, as `Store.write_readings` asks for it."""
    return hashlib.sha256((FILES / name).read_bytes()).hexdigest()
