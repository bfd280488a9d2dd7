"""An object's row from catalogue prose: what was typed as terms or numbers stands, the rest is read from the texts."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import polars as pl

from collection.intake.files.sheet import ROW
from collection.intake.languages import Languages
from collection.intake.mapping.mapping import PROSE, TAKE_ANYWAY, ColumnMap
from collection.intake.text.clauses import FLAGGED, NOT_ON_METAL
from collection.intake.text.dates import read_dates
from collection.intake.text.dimensions import read_sizes
from collection.intake.text.materials import AMBIGUOUS, read_materials
from collection.validation.cells import TRUE_WORDS
from collection.validation.problems import found, nothing
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
    found = text.str.to_lowercase().str.extract(_pattern(), 1)
    return found.replace_strict(_terms(), default=None, return_dtype=pl.String)


@cache
def _terms() -> Mapping[str, str]:
    return {w: key for key, entry in vocabulary("object_type").term.items() for w in entry.get("words", ())}


@cache
def _pattern() -> str:
    """Longer words first; a plural in s, es, n, en or e is the same word."""
    words = sorted(_terms(), key=len, reverse=True)
    return rf"(?:^|[^\p{{L}}])({'|'.join(words)})(?:s|es|x|n|en|e|ar|er|or)?(?:$|[^\p{{L}}])"


SIZES = ("height_mm", "width_mm", "depth_mm", "diameter_mm")
YEARS = ("earliest_year", "latest_year")
WORDS = ("technique_words", "base_metal_words", "metal_finish_words", "verdict_words", "date_words", "size_words")
READINGS = pl.Schema(
    {
        "source_row": pl.Int64(),
        "object_id": pl.String(),
        "outcome": pl.String(),
        "technique": pl.String(),
        "base_metal": pl.String(),
        "metal_finish": pl.String(),
        **{n: pl.Int64() for n in YEARS},
        **{n: pl.Float64() for n in SIZES},
        **{n: pl.String() for n in WORDS},
    }
)


@dataclass(frozen=True)
class Catalogued:
    """`rows`: the object rows, filled; `not_enamel`: source rows that are not vitreous enamel on metal, and why."""

    rows: pl.DataFrame
    readings: Callable[[], pl.DataFrame]  # schema `READINGS`, made only where somebody wants it
    not_enamel: pl.DataFrame  # source_row, why
    problems: pl.DataFrame


def read_catalogue(
    rows: pl.DataFrame, texts: pl.DataFrame, mapping: ColumnMap, languages: Languages, kept: pl.Series
) -> Catalogued:
    """Fill typed object rows from the texts beside them.

    Parameters
    ----------
    rows : `source_row` and typed columns of record object.
    texts : as many rows in the same order; any of `mapping.PROSE`, `title`, `description`, `period_text`, `culture`.
    kept : numbers of the objects the register has: where their row says nothing of the material, nothing is concluded.
    """
    materials = _where_needed(rows, "technique", texts, lambda some: read_materials(some, languages))
    dates, sizes = (
        read_dates(_texts(texts, "date_text"), languages),
        read_sizes(_texts(texts, "dimensions_text"), languages),
    )
    speaks = any(c in mapping.columns.values() for c in PROSE[:2])
    rows = _with_sizes(_with_years(_with_materials(rows, materials), dates, texts), sizes)
    rows = _with_type(rows, texts)
    verdicts = rows.select(ROW, stated=_stated(rows)).hstack(materials.select("verdict", "verdict_words", "certainty"))
    verdicts = verdicts.with_columns(stated=pl.col("stated") | _overruled(texts) | _silent(rows, texts, kept))
    judged = verdicts.filter(~pl.col("stated")) if speaks else verdicts.clear()
    return Catalogued(
        rows=rows,
        readings=lambda: _readings(rows, materials, dates, sizes),
        not_enamel=judged.filter(pl.col("verdict") == NOT_ON_METAL).select(ROW, why="verdict_words"),
        problems=_doubts(judged),
    )


def _where_needed(
    rows: pl.DataFrame, typed: str, texts: pl.DataFrame, read: Callable[[pl.DataFrame], pl.DataFrame]
) -> pl.DataFrame:
    """Read the texts of the rows in which nobody typed the column; the others stay empty."""
    open_rows = rows[typed].is_null() if typed in rows.columns else pl.repeat(True, rows.height, eager=True)
    if open_rows.all():
        return read(texts)
    places = rows.select(place=pl.int_range(pl.len(), dtype=pl.UInt32))
    done = places.filter(open_rows).hstack(read(texts.filter(open_rows)))
    return places.join(done, on="place", how="left", maintain_order="left").drop("place")


def _texts(texts: pl.DataFrame, column: str) -> pl.DataFrame:
    """The texts with this column, empty where the sheet has none."""
    return texts if column in texts.columns else texts.with_columns(pl.lit(None, pl.String).alias(column))


def _stated(rows: pl.DataFrame) -> pl.Expr:
    """Somebody wrote the technique as a term: then the prose decides nothing."""
    return pl.col("technique_typed") if "technique_typed" in rows.columns else pl.lit(value=False)


def _overruled(texts: pl.DataFrame) -> pl.Series:
    """A person says that it is enamel on metal all the same."""
    if TAKE_ANYWAY not in texts.columns:
        return pl.repeat(False, texts.height, eager=True)
    words = pl.col(TAKE_ANYWAY).str.strip_chars().str.to_lowercase()
    return texts.select(o=words.is_in(list(TRUE_WORDS)).fill_null(value=False))["o"]


def _silent(rows: pl.DataFrame, texts: pl.DataFrame, kept: pl.Series) -> pl.Series:
    said = [pl.col(c).is_not_null() for c in PROSE[:2] if c in texts.columns]
    known = (
        rows["object_id"].is_in(kept.implode())
        if "object_id" in rows.columns
        else pl.repeat(False, rows.height, eager=True)
    )
    return known & texts.select(s=~pl.any_horizontal(*said, pl.lit(value=False)))["s"]


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
    said = (
        texts["date_text"].is_not_null() if "date_text" in texts.columns else pl.repeat(False, rows.height, eager=True)
    )
    read = dates["earliest_year"].is_not_null() | dates["latest_year"].is_not_null()
    wordless = ~said | (
        ~read & texts.select(_has_a_digit("date_text") if "date_text" in texts.columns else pl.lit(False)).to_series()
    )
    for name in YEARS:
        figure = pl.col(name) if name in rows.columns else pl.lit(None, pl.Int64)
        taken = pl.when(read & said).then(dates[name]).when(wordless).then(pl.coalesce(figure, dates[name]))
        rows = rows.with_columns(taken.alias(name))
    return rows


def _has_a_digit(column: str) -> pl.Expr:
    return pl.col(column).str.contains(r"\d").fill_null(value=False)


def _with_sizes(rows: pl.DataFrame, sizes: pl.DataFrame) -> pl.DataFrame:
    taken = [(pl.coalesce(n, sizes[n]) if n in rows.columns else sizes[n]).alias(n) for n in SIZES]
    return rows.with_columns(taken)


def _with_type(rows: pl.DataFrame, texts: pl.DataFrame) -> pl.DataFrame:
    read = _where_needed(rows, "object_type", texts, lambda some: read_object_types(some).to_frame())["object_type"]
    typed = pl.coalesce("object_type", read) if "object_type" in rows.columns else read
    return rows.with_columns(typed.alias("object_type"))


def _doubts(judged: pl.DataFrame) -> pl.DataFrame:
    flagged = judged.filter(pl.col("verdict") == FLAGGED)
    unsure = judged.filter((pl.col("certainty") == AMBIGUOUS) & ~pl.col("verdict").is_in([FLAGGED, NOT_ON_METAL]))
    words = pl.col("verdict_words")
    return pl.concat(
        [
            nothing(),
            found(flagged, "kept_with_a_flag", "technique", value=words),
            found(unsure, "metal_ambiguous", "base_metal", value=words),
        ]
    )


def _readings(rows: pl.DataFrame, materials: pl.DataFrame, dates: pl.DataFrame, sizes: pl.DataFrame) -> pl.DataFrame:
    words = pl.concat(
        [
            materials.select(n for n in WORDS if n in materials.columns),
            dates.select("date_words"),
            sizes.select("size_words"),
        ],
        how="horizontal",
    )
    whole = rows.with_columns(pl.col("technique").list.join(";"), outcome=pl.lit(None, pl.String)).hstack(words)
    filled = whole.with_columns(pl.lit(None, t).alias(n) for n, t in READINGS.items() if n not in whole.columns)
    return filled.select(pl.col(n).cast(t) for n, t in READINGS.items())
