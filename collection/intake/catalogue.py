"""An object's row from catalogue prose: what was typed as terms or numbers stands, the rest is read from the texts."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from functools import cache, partial

import polars as pl

from collection.intake.about_sheets import figures
from collection.intake.doubts import (
    SIZES,
    YEARS,
    dates_in_doubt,
    of_materials,
    sizes_left,
    texts_not_read,
)
from collection.intake.languages import Languages
from collection.intake.mapping.mapping import PROSE, TAKE_ANYWAY, ColumnMap
from collection.intake.text.dates import read_dates
from collection.intake.text.dimensions import read_sizes
from collection.intake.text.materials import read_materials
from collection.validation.cells import FALSE_WORDS, SHOWN_OF_A_CELL
from collection.validation.problems import ROW
from schemas.vocabularies import vocabulary

# The text that names the thing most plainly is asked first.
ASKED = ("object_type_text", "title", "classification_text")


def read_object_types(texts: pl.DataFrame) -> pl.Series:
    """A term of vocabulary object_type for each row, or null; the first word in the plainest text decides."""
    answers = [_terms_in(pl.col(c)) for c in ASKED if c in texts.columns]
    if not answers:
        return pl.Series("object_type", [None] * texts.height, dtype=pl.String)
    return texts.select(pl.coalesce(answers).alias("object_type"))["object_type"]


def _terms_in(text: pl.Expr) -> pl.Expr:
    word = text.str.to_lowercase().str.extract(_pattern(), 1)
    return word.replace_strict(_terms(), default=None, return_dtype=pl.String)


@cache
def _terms() -> Mapping[str, str]:
    return {w: key for key, entry in vocabulary("object_type").term.items() for w in entry.get("words", ())}


@cache
def _pattern() -> str:
    """Longer words first; a plural in s, es, n, en or e is the same word."""
    words = sorted(_terms(), key=len, reverse=True)
    return rf"(?:^|[^\p{{L}}])({'|'.join(words)})(?:s|es|x|n|en|e|ar|er|or)?(?:$|[^\p{{L}}])"


EXACT = ("year", "range")  # how exact a date is that circa makes wider
WORDS = ("technique_words", "base_metal_words", "metal_finish_words", "verdict_words", "date_words", "size_words")
# What was read of a row, for a person to look through; the row's outcome, file and line are added at the end.
READ = pl.Schema(
    {ROW: pl.Int64()}
    | {n: pl.String() for n in ("object_id", "technique", "base_metal", "metal_finish")}
    | {n: pl.Int64() for n in YEARS}
    | {n: pl.Float64() for n in SIZES}
    | {n: pl.String() for n in WORDS}
)


@dataclass(frozen=True)
class Catalogued:
    """`rows`: the object rows, filled; `problems`: schema `UNWORDED`; `read`: schema `READ`, where it is wanted."""

    rows: pl.DataFrame
    problems: pl.DataFrame
    read: Callable[[], pl.DataFrame]


def read_catalogue(
    rows: pl.DataFrame,
    texts: pl.DataFrame,
    mapping: ColumnMap,
    languages: Languages,
    held: pl.Series,
    not_read: Collection[str] = (),
) -> Catalogued:
    """Fill typed object rows from the texts beside them.

    Parameters
    ----------
    rows : `row` and typed columns of record object.
    texts : as many rows in the same order; any of `mapping.PROSE`, `title`, `description`, `period_text`, `culture`.
    held : numbers of the objects the register has: where their row says nothing of the material, nothing is concluded.
    not_read : columns of the texts whose language is not read: nothing is put outside by them, no date is exact.
    """
    materials = _where_needed(rows, "technique", texts, lambda some: read_materials(some, languages))
    dates = read_dates(_texts(texts, "date_text"), languages)
    sizes = read_sizes(_texts(texts, "dimensions_text"), languages)
    rows = _with_years(_with_materials(rows, materials), _widened(dates), texts)
    rows = _with_type(_with_sizes(rows, sizes), texts)
    doubts = [*texts_not_read(rows, texts, dates), sizes_left(rows, texts, sizes)]
    doubts.append(dates_in_doubt(rows, dates, not_read))
    if set(PROSE[:2]) & mapping.filled():
        doubts += of_materials(_judged(rows, texts, materials, held), not_read)
    read = partial(_read, rows, materials, dates, sizes)
    return Catalogued(rows.drop("technique_typed"), pl.concat(doubts), read)


def _judged(rows: pl.DataFrame, texts: pl.DataFrame, materials: pl.DataFrame, held: pl.Series) -> pl.DataFrame:
    """Rows whose words decide whether they belong here: row, verdict, verdict_words, certainty, words."""
    stated = rows.select(s=pl.col("technique_typed"))["s"] | _overruled(texts) | _silent(rows, texts, held)
    spoken = pl.concat_str(_spoken(texts), separator="; ", ignore_nulls=True).str.head(SHOWN_OF_A_CELL)
    verdicts = rows.select(ROW).hstack(materials.select("verdict", "verdict_words", "certainty", "unknown_words"))
    return verdicts.hstack(texts.select(words=spoken)).filter(~stated)


def _spoken(texts: pl.DataFrame) -> list[pl.Expr]:
    return [pl.col(c) for c in PROSE[:2] if c in texts.columns] or [pl.lit(None, pl.String)]


def _where_needed(
    rows: pl.DataFrame, typed: str, texts: pl.DataFrame, read: Callable[[pl.DataFrame], pl.DataFrame]
) -> pl.DataFrame:
    """Read the texts of the rows in which nobody typed the column; the others stay empty."""
    open_rows = rows[typed].is_null() if typed in rows.columns else pl.repeat(True, rows.height, eager=True)
    if open_rows.all():
        return read(texts)
    if not open_rows.any():
        return read(texts.clear()).clear(rows.height)
    places = rows.select(place=pl.int_range(pl.len(), dtype=pl.UInt32))
    done = places.filter(open_rows).hstack(read(texts.filter(open_rows)))
    return places.join(done, on="place", how="left", maintain_order="left").drop("place")


def _texts(texts: pl.DataFrame, column: str) -> pl.DataFrame:
    """The texts with this column, empty where the sheet has none."""
    return texts if column in texts.columns else texts.with_columns(pl.lit(None, pl.String).alias(column))


def _overruled(texts: pl.DataFrame) -> pl.Series:
    """A person says that it belongs here all the same: any mark counts that is no word for *no*."""
    if TAKE_ANYWAY not in texts.columns:
        return pl.repeat(False, texts.height, eager=True)
    words = pl.col(TAKE_ANYWAY).str.strip_chars().str.to_lowercase()
    marked = (words != "") & ~words.is_in(list(FALSE_WORDS))
    return texts.select(o=marked.fill_null(value=False))["o"]


def _silent(rows: pl.DataFrame, texts: pl.DataFrame, held: pl.Series) -> pl.Series:
    """Rows of objects the register has that say nothing of their material."""
    known = (
        rows["object_id"].is_in(held.implode())
        if "object_id" in rows.columns
        else pl.repeat(False, rows.height, eager=True)
    )
    return known & texts.select(s=pl.all_horizontal(pl.lit(value=True), *(e.is_null() for e in _spoken(texts))))["s"]


def _with_materials(rows: pl.DataFrame, materials: pl.DataFrame) -> pl.DataFrame:
    typed = pl.col("technique").is_not_null() if "technique" in rows.columns else pl.lit(value=False)
    rows = rows.with_columns(technique_typed=typed)
    for name in ("technique", "base_metal", "wire_metal", "metal_finish"):
        read = materials[name]
        if name == "technique":
            read = pl.Series(name, materials.select(pl.when(pl.col(name).list.len() > 0).then(name))[name])
        rows = rows.with_columns((pl.coalesce(name, read) if name in rows.columns else read).alias(name))
    return rows


def _with_years(rows: pl.DataFrame, dates: pl.DataFrame, texts: pl.DataFrame) -> pl.DataFrame:
    """The date in words decides; figures beside it count only where there are no words, or none that say when."""
    worded = (
        texts["date_text"].is_not_null() if "date_text" in texts.columns else pl.repeat(False, rows.height, eager=True)
    )
    read = dates["earliest_year"].is_not_null() | dates["latest_year"].is_not_null()
    wordless = ~worded | (
        ~read & texts.select(_has_a_digit("date_text") if "date_text" in texts.columns else pl.lit(False)).to_series()
    )
    for name in YEARS:
        figure = pl.col(name) if name in rows.columns else pl.lit(None, pl.Int64)
        value = pl.when(read & worded).then(dates[name]).when(wordless).then(pl.coalesce(figure, dates[name]))
        rows = rows.with_columns(value.alias(name))
    return rows


def _widened(dates: pl.DataFrame) -> pl.DataFrame:
    """Years that the words call about reach some years to either side; there was no year 0."""
    reach = pl.when("date_circa", pl.col("date_precision").is_in(EXACT)).then(figures()["circa_years"]).otherwise(0)
    first, last = (pl.col(name) for name in YEARS)
    early, late = first - reach, last + reach
    return dates.with_columns(
        earliest_year=pl.when(first > 0, early <= 0).then(early - 1).otherwise(early),
        latest_year=pl.when(last < 0, late >= 0).then(late + 1).otherwise(late),
    )


def _has_a_digit(column: str) -> pl.Expr:
    return pl.col(column).str.contains(r"\d").fill_null(value=False)


def _with_sizes(rows: pl.DataFrame, sizes: pl.DataFrame) -> pl.DataFrame:
    filled = [(pl.coalesce(n, sizes[n]) if n in rows.columns else sizes[n]).alias(n) for n in SIZES]
    return rows.with_columns(filled)


def _with_type(rows: pl.DataFrame, texts: pl.DataFrame) -> pl.DataFrame:
    read = _where_needed(rows, "object_type", texts, lambda some: read_object_types(some).to_frame())["object_type"]
    typed = pl.coalesce("object_type", read) if "object_type" in rows.columns else read
    return rows.with_columns(typed.alias("object_type"))


def _read(rows: pl.DataFrame, materials: pl.DataFrame, dates: pl.DataFrame, sizes: pl.DataFrame) -> pl.DataFrame:
    words = pl.concat(
        [
            materials.select(n for n in WORDS if n in materials.columns),
            dates.select("date_words"),
            sizes.select("size_words"),
        ],
        how="horizontal",
    )
    whole = rows.with_columns(pl.col("technique").list.join(";")).hstack(words)
    filled = whole.with_columns(pl.lit(None, t).alias(n) for n, t in READ.items() if n not in whole.columns)
    return filled.select(pl.col(n).cast(t) for n, t in READ.items())
