"""What comes with a row and nobody types: the part that is the whole, the place named in words, remarks as checks."""

from collections.abc import Iterator

import polars as pl

from collection.intake.files.sheet import ROW
from collection.intake.languages import Languages
from collection.intake.text.remarks import checks_from_remarks
from collection.validation.cells import with_days
from collection.validation.duplicates import compare, normal
from collection.validation.session import ValidationSession
from schemas.fields import Partial
from schemas.records.catalogue import WHOLE, WHOLE_COLUMN
from schemas.tables import RECORDS, TableSpec

LONGEST_PLACE = 200


def with_whole(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """A row that names no part means the whole object; a part's own row must name it."""
    names_parts = any(c.name == WHOLE_COLUMN and c.required for c in spec.columns)
    if not names_parts or spec.name == "part":
        return rows
    part = pl.col(WHOLE_COLUMN) if WHOLE_COLUMN in rows.columns else pl.lit(None, pl.String)
    return rows.with_columns(part.fill_null(WHOLE).alias(WHOLE_COLUMN))


def with_places(rows: pl.DataFrame, texts: pl.DataFrame, locations: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Object rows with the place their text names; places the register lacks, by their name.

    The new places are those of all rows, each at the first row that names it; the caller takes those it needs.
    """
    empty = pl.DataFrame(schema={ROW: pl.Int64, "location_id": pl.String, "name": pl.String})
    if "location_text" not in texts.columns:
        return rows, empty
    text = pl.col("location_text").str.strip_chars().str.head(LONGEST_PLACE)
    said = (
        rows.select(ROW).with_columns(texts.select(text)["location_text"]).with_columns(spelt=normal("location_text"))
    )
    known = pl.concat([locations.select("location_id", spelt=normal(n)) for n in ("location_id", "name")])
    found_there = said.join(
        known.drop_nulls().unique("spelt", maintain_order=True), on="spelt", how="left", maintain_order="left"
    )
    placed = found_there.with_columns(place=pl.coalesce("location_id", "location_text"))["place"]
    typed = pl.col("location_id") if "location_id" in rows.columns else pl.lit(None, pl.String)
    new = found_there.filter(pl.col("location_id").is_null() & pl.col("spelt").is_not_null() & (pl.col("spelt") != ""))
    new = new.unique("spelt", keep="first", maintain_order=True)
    made = new.select(ROW, location_id="location_text", name="location_text")
    same = placed.replace(dict(zip(said["location_text"], said["location_text"], strict=True)))
    return rows.with_columns(pl.coalesce(typed, _one_spelling(said, new, same)).alias("location_id")), made


def _one_spelling(said: pl.DataFrame, new: pl.DataFrame, placed: pl.Series) -> pl.Series:
    """A place spelt in two ways in one file is one place: the first spelling is kept."""
    first = new.select("spelt", first="location_text")
    return (
        said.with_columns(placed=placed)
        .join(first, on="spelt", how="left", maintain_order="left")
        .select(p=pl.coalesce("first", pl.when(pl.col("placed") != "").then("placed")))["p"]
    )


def made_beside(
    objects: pl.DataFrame, session: ValidationSession, languages: Languages, file: str
) -> Iterator[tuple[str, pl.DataFrame]]:
    """Rows of other records that come with accepted objects: their whole part, and what a remark says."""
    new = objects.filter(pl.col("row_version").is_null())
    rows = {"part": new.select("object_id", part=pl.lit(WHOLE))}
    remarks = [c for c in ("object_id", "condition_remark", "condition_remark_on") if c in objects.columns]
    if "condition_remark" in remarks:
        said = objects.select(remarks)
        dated = (
            said if "condition_remark_on" in remarks else said.with_columns(condition_remark_on=pl.lit(None, pl.String))
        )
        rows |= checks_from_remarks(dated, languages)
    for name in RECORDS:
        if name in rows and not rows[name].is_empty():
            yield name, _fresh(RECORDS[name], rows[name], session, file)


def _fresh(spec: TableSpec, rows: pl.DataFrame, session: ValidationSession, file: str) -> pl.DataFrame:
    """Those that are new or differ from the kept ones."""
    for column in spec.marked(Partial):
        rows = with_days(rows, column.name) if column.name in rows.columns else rows
    numbered = rows.with_columns(pl.lit(None, pl.Int64).alias(ROW))
    return compare(numbered, spec, session.kept_rows(spec)).rows.with_columns(source_file=pl.lit(file))
