"""What comes with a row and nobody types: the place its text names, the number of a check, checks told in a remark."""

from collections.abc import Mapping
from dataclasses import replace
from string import ascii_lowercase

import polars as pl

from collection.intake.from_remarks import checks_from_remarks, lines_from_findings
from collection.intake.languages import Languages
from collection.intake.mapping.mapping import TICKED
from collection.intake.ticks import with_ticks
from collection.snapshot import Collection
from collection.validation.cells import with_days
from collection.validation.problems import FROM, ROW, no_problems, problems_of, worded
from collection.validation.spelling import normal
from collection.validation.validate import Follows, ValidationResult
from schemas.fields import Partial
from schemas.tables import RECORDS, TableSpec
from schemas.vocabularies import vocabulary

LONGEST_PLACE = 200
CHECK, OBJECT = RECORDS["condition_check"].name, RECORDS["object"].name
PLACES = pl.Schema({FROM: pl.Int64(), "location_id": pl.String(), "name": pl.String()})


def with_places(
    rows: pl.DataFrame, texts: pl.DataFrame, known: pl.DataFrame
) -> tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame]:
    """Object rows with the place their text names; places nobody knows (`PLACES`); names that several places have.

    `known`: location_id and name. The new places are those of all rows, each at the first row that names it.
    """
    if "location_text" not in texts.columns:
        return rows, pl.DataFrame(schema=PLACES), no_problems()
    text = pl.col("location_text").str.strip_chars().str.head(LONGEST_PLACE)
    named = (
        rows.select(ROW).with_columns(texts.select(text)["location_text"]).with_columns(spelt=normal("location_text"))
    )
    asked = named.join(_by_spelling(known), on="spelt", how="left", maintain_order="left")
    unknown = asked.filter(pl.col("several").is_null() & (pl.col("spelt") != ""))
    new = unknown.unique("spelt", keep="first", maintain_order=True)
    asked = asked.join(new.select("spelt", first="location_text"), on="spelt", how="left", maintain_order="left")
    place = asked.select(p=pl.when(pl.col("several").fill_null(0) <= 1).then(pl.coalesce("location_id", "first")))["p"]
    typed = pl.col("location_id") if "location_id" in rows.columns else pl.lit(None, pl.String)
    derived_rows = new.select(pl.col(ROW).alias(FROM), location_id="location_text", name="location_text")
    return rows.with_columns(pl.coalesce(typed, place).alias("location_id")), derived_rows, _ambiguous(asked)


def _by_spelling(known: pl.DataFrame) -> pl.DataFrame:
    """Each spelling of a number or name of a place: location_id, how many places it may mean, and which."""
    spelt = pl.concat([known.select("location_id", spelt=normal(n), own=pl.lit(n)) for n in ("location_id", "name")])
    spelt = spelt.drop_nulls("spelt").unique(["location_id", "spelt"], keep="first", maintain_order=True)
    numbers = spelt.filter(own="location_id")  # a number is one place, whatever names others have
    names = spelt.filter(own="name").join(numbers, on="spelt", how="anti")
    return (
        pl.concat([numbers, names])
        .group_by("spelt", maintain_order=True)
        .agg(pl.col("location_id").first(), several=pl.len(), which=pl.col("location_id").head(5).str.join(", "))
    )


def _ambiguous(asked: pl.DataFrame) -> pl.DataFrame:
    wrong = asked.filter(pl.col("several") > 1)
    listed = problems_of(wrong, "place_ambiguous", "location_text", value=pl.col("location_text"))
    return listed.with_columns(expected=pl.format("the short name of one of them: {}", wrong["which"]))


def with_places_named(result: ValidationResult) -> ValidationResult:
    """Of the places that rows name and nobody knew, those that an accepted object needs; a note for each."""
    places = result.accepted.get("location")
    if places is None:
        return result
    objects = result.accepted.get("object", pl.DataFrame(schema={"location_id": pl.String}))
    used = objects["location_id"].drop_nulls() if "location_id" in objects.columns else pl.Series([], dtype=pl.String)
    derived = pl.col(ROW) < 0
    wanted = places.filter(~derived | pl.col("location_id").is_in(used.implode()))
    named = wanted.filter(derived).with_columns(pl.col(FROM).alias(ROW))
    spec = RECORDS["object"]
    notes = worded(
        problems_of(named, "place_made", "location_text", value=pl.col("location_id")),
        result.outcomes.filter(record=spec.name).select(ROW, "key"),
        spec,
    )
    accepted = {**result.accepted, "location": wanted}
    return replace(
        result,
        accepted={name: rows for name, rows in accepted.items() if not rows.is_empty()},
        problems=pl.concat([result.problems, notes]),
    )


def with_check_numbers(rows: pl.DataFrame, spec: TableSpec, held: pl.DataFrame) -> pl.DataFrame:
    """A list of checks without numbers of their own: object and day, and a letter for a second check on one day.

    Where it does not say how closely somebody looked, a check of `held` (rows of that record) stays as it is.
    """
    if spec.name != CHECK or not {"object_id", "checked_on"} <= set(rows.columns):
        return rows
    place = pl.int_range(pl.len(), dtype=pl.Int64).over("object_id", "checked_on")
    letter = place.replace_strict(dict(enumerate(ascii_lowercase)), default=None, return_dtype=pl.String)
    letter = pl.when(place == 0).then(pl.lit("")).otherwise(pl.coalesce(letter, place.cast(pl.String)))
    if "check_id" not in rows.columns:
        rows = rows.with_columns(check_id=pl.format("{}/{}{}", "object_id", "checked_on", letter))
    elif "look" in rows.columns:
        return rows
    looked = rows.join(held.select("check_id", before="look"), on="check_id", how="left", maintain_order="left")
    look = pl.col("look") if "look" in rows.columns else pl.lit(None, pl.String)
    return looked.with_columns(look=pl.coalesce(look, "before", pl.lit(_least_look()))).drop("before")


def _least_look() -> str:
    """Where a list does not say how closely somebody looked: in person, and no closer than that."""
    looks = vocabulary("look")
    closer = looks.terms_where("each_damage")
    return next(term for term in looks.terms_where("in_person") if term not in closer)


def lines_from_words(languages: Languages, held: Collection, ticks: pl.DataFrame, doubted: pl.Series) -> Follows:
    """What follows from accepted rows: checks, damage and repairs that a catalogue's remark tells of.

    The same of the finding of a check, where the list has no numbers for its checks, and so no lines of its own; and
    of ticks (schema `TICKS`) under headings that stand for a damage, of rows that are unchanged, too. `doubted`:
    identities of rows from whose remarks no damage is to be read.
    """
    in_doubt = pl.col(ROW).is_in(doubted.implode()).alias("doubted")

    def follows(record: str, accepted: pl.DataFrame, unchanged: pl.DataFrame) -> Mapping[str, pl.DataFrame]:
        rows: Mapping[str, pl.DataFrame] = {}
        if record == OBJECT and "condition_remark" in accepted.columns:
            rows = checks_from_remarks(_remarks(accepted, in_doubt), languages)
        elif record == CHECK and "summary_observed" in accepted.columns:
            rows = lines_from_findings(_findings(accepted, in_doubt), languages, held)
        if record in TICKED and not ticks.is_empty():
            rows = with_ticks(record, pl.concat([accepted, unchanged], how="diagonal"), ticks, rows, held)
        return {name: _dated(name, its) for name, its in rows.items() if not its.is_empty()}

    return follows


def _remarks(accepted: pl.DataFrame, in_doubt: pl.Expr) -> pl.DataFrame:
    """Objects with their remarks, and the row each comes from."""
    dated = pl.col("condition_remark_on") if "condition_remark_on" in accepted.columns else _undated()
    return accepted.select("object_id", "condition_remark", dated, in_doubt, pl.coalesce(FROM, ROW).alias(FROM))


def _findings(accepted: pl.DataFrame, in_doubt: pl.Expr) -> pl.DataFrame:
    """Checks whose number was made here, with their findings, and the row each comes from."""
    numbered_here = (
        pl.col("check_id").str.starts_with(pl.format("{}/{}", "object_id", "checked_on")).fill_null(value=False)
    )
    rows = accepted.filter(numbered_here)
    return rows.select(
        "check_id", "object_id", "checked_on", "summary_observed", in_doubt, pl.coalesce(FROM, ROW).alias(FROM)
    )


def _undated() -> pl.Expr:
    return pl.lit(None, pl.String).alias("condition_remark_on")


def _dated(record: str, rows: pl.DataFrame) -> pl.DataFrame:
    """The rows with first and last day of their dates."""
    for column in RECORDS[record].marked(Partial):
        rows = with_days(rows, column.name) if column.name in rows.columns else rows
    return rows
