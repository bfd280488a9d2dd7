"""What the words of a catalogue leave open: asked of the row, each with the words."""

from collections.abc import Collection

import polars as pl

from collection.intake.mapping.mapping import PROSE
from collection.intake.text.clauses import FLAGGED, NOT_ON_METAL, NOT_READ, ON_METAL
from collection.intake.text.materials import AMBIGUOUS
from collection.validation.cells import SHOWN_OF_A_CELL
from collection.validation.problems import ROW, no_problems, problems_of

SIZES = ("height_mm", "width_mm", "depth_mm", "diameter_mm")
YEARS = ("earliest_year", "latest_year")


def of_materials(judged: pl.DataFrame, not_read: Collection[str]) -> list[pl.DataFrame]:
    """What the words leave open of the material; where their language is not read nothing is put outside by them."""
    verdict, why = pl.col("verdict"), pl.col("verdict_words")
    foreign = PROSE[0] in not_read
    outside = judged.filter(verdict == NOT_ON_METAL, pl.lit(not foreign))
    flagged = judged.filter(verdict == FLAGGED)
    silent = [NOT_READ, NOT_ON_METAL] if foreign else [NOT_READ]
    unread = judged.filter(verdict.is_in(silent), pl.col("words").str.contains(r"\S"))
    partly = judged.filter(verdict.is_in([ON_METAL, FLAGGED]), pl.col("unknown_words").is_not_null())
    unsure = judged.filter(pl.col("certainty") == AMBIGUOUS, ~verdict.is_in([FLAGGED, NOT_ON_METAL, NOT_READ]))
    return [
        problems_of(outside, "outside_this_collection", "technique", value=why),
        problems_of(flagged, "kept_with_a_flag", "technique", value=why),
        problems_of(unread, "material_not_read", "technique", value=pl.col("words")),
        problems_of(partly, "material_partly_read", "technique", value=pl.col("words")),
        problems_of(unsure, "metal_ambiguous", "base_metal", value=why),
    ]


def sizes_left(rows: pl.DataFrame, texts: pl.DataFrame, sizes: pl.DataFrame) -> pl.DataFrame:
    """Texts of which some lengths were read, and not all: what they measure is not known."""
    if "dimensions_text" not in texts.columns:
        return no_problems()
    both = rows.select(ROW, *SIZES).with_columns(sizes["size_left"], texts["dimensions_text"])
    partly = both.filter("size_left", pl.any_horizontal(pl.col(n).is_not_null() for n in SIZES))
    return problems_of(
        partly, "size_partly_read", "dimensions_text", value=pl.col("dimensions_text").str.head(SHOWN_OF_A_CELL)
    )


def dates_in_doubt(rows: pl.DataFrame, dates: pl.DataFrame, not_read: Collection[str]) -> pl.DataFrame:
    """Years beside which a word stands that nobody knows; in a language that is not read, beside any word."""
    doubted = pl.col("word_beside").is_not_null()
    if "date_text" in not_read:
        doubted |= pl.col("date_words").str.contains(r"\p{L}")
    listed = rows.select(ROW).hstack(dates.select("date_words", "word_beside")).filter(doubted)
    return problems_of(listed, "date_doubtful", "date_text", value=pl.col("date_words").str.head(SHOWN_OF_A_CELL))


def texts_not_read(rows: pl.DataFrame, texts: pl.DataFrame, dates: pl.DataFrame) -> list[pl.DataFrame]:
    """Words of a date or a size that say something and were not read; the cells stay empty."""
    asked = {
        "date_not_read": ("date_text", YEARS, pl.lit(value=True)),
        "size_not_read": ("dimensions_text", SIZES, pl.col("words").str.contains(r"\d")),
    }
    listed = []
    for rule, (column, filled, speaks) in asked.items():
        if column in texts.columns:
            both = rows.select(ROW, *filled).with_columns(texts.select(words=pl.col(column))["words"], dates["no_date"])
            empty = pl.all_horizontal(pl.col(n).is_null() for n in filled)
            silent = pl.col("no_date") if column == "date_text" else pl.lit(value=False)
            lost = both.filter(pl.col("words").str.contains(r"\S"), empty, speaks, ~silent)
            listed.append(problems_of(lost, rule, column, value=pl.col("words").str.head(SHOWN_OF_A_CELL)))
    return listed
