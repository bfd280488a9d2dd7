"""What the words of a file leave open or unread: asked of the row they stand in, each with the words."""

from collections.abc import Collection, Iterator

import polars as pl

from collection.intake.languages import Languages
from collection.intake.mapping.mapping import PROSE, ColumnMap
from collection.intake.text.clauses import FLAGGED, NOT_ON_METAL, NOT_READ, ON_METAL
from collection.intake.text.materials import AMBIGUOUS
from collection.intake.text.remarks import read_remarks, unread_remarks
from collection.intake.ticks import unread_ticks
from collection.validation.cells import SHOWN_OF_A_CELL
from collection.validation.problems import ROW, no_problems, problems_of

SIZES = ("height_mm", "width_mm", "depth_mm", "diameter_mm")
YEARS = ("earliest_year", "latest_year")
_IN_PARTS = r"\d½¼¾⅓⅔⅛⅜⅝⅞"  # figures of a number, also in parts: 3 1/2, 3½
BARE = rf"^\s*[+-]?[{_IN_PARTS}.,'’ /]*[{_IN_PARTS}][{_IN_PARTS}.,'’ /]*$"  # a number with nothing beside it
# Of a remark in a language that is not read: no damage is read from it.
UNREAD_LANGUAGE = "remark_in_another_language"
REMARKS = ("condition_remark", "summary_observed")


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


def cells_not_read(
    cells: pl.DataFrame,
    own: pl.DataFrame,
    rows: pl.DataFrame,
    mapping: ColumnMap,
    languages: Languages,
    not_read: Collection[str] = (),
) -> Iterator[pl.DataFrame]:
    """What was not read, each said: ticks that are none, numbers without a unit, remarks without a known word, or with
    damage that may be denied. `not_read`: columns whose language is not read."""
    yield unread_ticks(cells, mapping)
    yield from _without_unit(own, rows, mapping)
    yield from _remarks_not_read(own, languages)
    for column in (c for c in REMARKS if c in own.columns):
        yield from _remarks_in_doubt(own.select(ROW, text=column), column, languages, foreign=column in not_read)


def _remarks_not_read(own: pl.DataFrame, languages: Languages) -> Iterator[pl.DataFrame]:
    """Remarks on condition in which no word is known, each listed."""
    for column in (c for c in REMARKS if c in own.columns):
        lost = own.filter(unread_remarks(own[column], languages))
        yield problems_of(lost, "remark_not_read", column, value=pl.col(column).str.head(SHOWN_OF_A_CELL))


def _remarks_in_doubt(own: pl.DataFrame, column: str, languages: Languages, *, foreign: bool) -> Iterator[pl.DataFrame]:
    """Remarks in which damage may be denied, and those that tell of damage and not of which kind."""
    read = own.hstack(read_remarks(own["text"], languages).drop("dated"))
    shown = pl.col("text").str.head(SHOWN_OF_A_CELL)
    names_damage = pl.col("doubted") | (pl.col("kinds").list.len() > 0) | (pl.col("repair_materials").list.len() > 0)
    if foreign:
        yield problems_of(read.filter(names_damage), UNREAD_LANGUAGE, column, value=shown)
    else:
        yield problems_of(read.filter("doubted"), "remark_doubtful", column, value=shown)
        yield problems_of(read.filter("partly", names_damage), "remark_partly_read", column, value=shown)
    yield problems_of(read.filter("unsaid"), "damage_of_unsaid_kind", column, value=shown)


def _without_unit(cells: pl.DataFrame, rows: pl.DataFrame, mapping: ColumnMap) -> Iterator[pl.DataFrame]:
    """Numbers of columns whose unit nobody stated: they are left out, and each is said."""
    for column in (c for c, unit in mapping.units.items() if not unit and c in cells.columns):
        bare = cells.select(ROW, text=column).filter(rows[column].is_null()).filter(pl.col("text").str.contains(BARE))
        yield problems_of(bare, "size_not_read", column, value=pl.col("text").str.head(SHOWN_OF_A_CELL))
