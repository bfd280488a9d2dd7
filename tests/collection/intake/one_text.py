"""One text of a catalogue, read as a column of it is: what a thing is made of, when it was made."""

from typing import Any

import polars as pl

from collection.intake.languages import load
from collection.intake.text.dates import read_dates
from collection.intake.text.materials import read_materials

ALL = load()


def materials_of(text: str | None, **more: str) -> dict[str, Any]:
    return read_materials(
        pl.DataFrame(
            {"materials_text": [text], **{k: [v] for k, v in more.items()}},
            schema_overrides={"materials_text": pl.String},
        ),
        ALL,
    ).row(0, named=True)


def years_of(text: str | None, period: str | None = None) -> tuple[int | None, int | None, bool]:
    """Earliest year, latest year, and whether it says about."""
    row = read_dates(
        pl.DataFrame(
            {"date_text": [text], "period_text": [period]},
            schema_overrides={"date_text": pl.String, "period_text": pl.String},
        ),
        ALL,
    ).row(0, named=True)
    return row["earliest_year"], row["latest_year"], row["date_circa"]
