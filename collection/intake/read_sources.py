"""The sheets of a delivery read one after another: each with what the ones before have brought."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import polars as pl

from collection.intake.about_sheets import names_of_places, not_read, questions_about, words_known
from collection.intake.delivery import Delivery
from collection.intake.files.sheet import SOURCE_ROW
from collection.intake.mapping.mapping import OBJECT
from collection.intake.opening import Source
from collection.intake.rows import SHEET_STEP, Known, numbers_hold_digits, read_sheet
from collection.snapshot import Collection


def read_sources(sources: Sequence[Source], delivery: Delivery, known: Known, progress: Callable[[str], None]) -> None:
    """Read every sheet and add its rows, and what is asked about it, to the delivery."""
    catalogues = [source.first.name for source in sources if source.mapping.record == OBJECT]
    places = names_of_places(catalogues, pl.concat([known.places["location_id"], known.places["name"]]))
    for source in sources:
        known = _read_source(source, delivery, known, places, progress)


def _read_source(
    source: Source, delivery: Delivery, known: Known, places: Sequence[str], progress: Callable[[str], None]
) -> Known:
    """Read the parts of a sheet; returns what is known with the places it brings."""
    number = delivery.open(source.first, source.mapping)
    words = words_known(source.first, source.mapping, known.languages)
    known = replace(
        known,
        with_digits=numbers_hold_digits(source.first, source.mapping),
        above={},
        not_read=frozenset(not_read(words)["column"]),
    )
    for part in source.parts():
        progress(f"Reading {part.file}, from row {int(str(part.cells[SOURCE_ROW].first() or 1)):,}")
        rows = read_sheet(part, source.mapping, number, known)
        delivery.take(part, number, rows)
        more = [rows.places] if rows.places.height else []
        if source.mapping.record == "location":
            more.append(rows.incoming.rows)
        known = replace(known, places=pl.concat([known.places, *map(_named, more)]), above=rows.above)
    top = 1 + number * SHEET_STEP
    about = questions_about(source.first, source.mapping, top, words, places, known.languages)
    delivery.note(words, about)
    return known


def places_of(held: Collection) -> pl.DataFrame:
    """Number and name of the places the register holds."""
    return _named(held["location"])


def _named(rows: pl.DataFrame) -> pl.DataFrame:
    name = pl.col("name") if "name" in rows.columns else pl.lit(None, pl.String).alias("name")
    return rows.select("location_id", name).drop_nulls("location_id")
