"""Marks under a heading that stands for a kind of damage: each is a damage of that kind, as told in words."""

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

import polars as pl
import tomli

from collection.frames import returns
from collection.intake.from_remarks import DIVIDER, MARK
from collection.intake.mapping.mapping import OBJECT, ColumnMap, damage_of_tick
from collection.snapshot import Collection
from collection.validation.cells import SHOWN_OF_A_CELL
from collection.validation.problems import FROM, ROW, no_problems, problems_of
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

# One line for each row and kind that is ticked; the headings of the ticks as the note.
TICKS = pl.Schema({ROW: pl.Int64(), "kind": pl.String(), "note": pl.String()})


@cache
def marks(name: str) -> tuple[str, ...]:
    """What a cell says for *there* and for *absent*, in small letters."""
    return tuple(tomli.loads((Path(__file__).parent / "ticks.toml").read_text("utf-8"))[name])


@returns(TICKS)
def ticks_of(cells: pl.DataFrame, mapping: ColumnMap) -> pl.DataFrame:
    """The kinds of damage that are ticked in rows of a sheet (`row` and its headings); schema `TICKS`."""
    ticked = [
        cells.filter(_spelt(heading).is_in(marks("there"))).select(
            ROW, kind=pl.lit(damage_of_tick(target).value, pl.String), note=pl.lit(heading)
        )
        for heading, target in mapping.ticks.items()
        if heading in cells.columns
    ]
    each = pl.concat([pl.DataFrame(schema=TICKS), *ticked])
    return each.group_by(ROW, "kind", maintain_order=True).agg(pl.col("note").str.join(", "))


def unread_ticks(cells: pl.DataFrame, mapping: ColumnMap) -> pl.DataFrame:
    """Cells under a heading of ticks that say neither *there* nor *absent*, as problems; schema `UNWORDED`."""
    known = [*marks("there"), *marks("absent"), ""]
    listed = [
        problems_of(
            cells.filter(~_spelt(heading).is_in(known)),
            "tick_not_read",
            heading,
            value=pl.col(heading).str.head(SHOWN_OF_A_CELL),
        )
        for heading in mapping.ticks
        if heading in cells.columns
    ]
    return pl.concat([no_problems(), *listed])


def _spelt(heading: str) -> pl.Expr:
    return pl.col(heading).str.strip_chars().str.to_lowercase()


def with_ticks(
    record: str, accepted: pl.DataFrame, ticks: pl.DataFrame, worded: Mapping[str, pl.DataFrame], held: Collection
) -> Mapping[str, pl.DataFrame]:
    """Rows that words tell of, by record, and those that ticks of the same accepted rows (objects or checks) add.

    A damage that is known already gets a line of this check and stays as it is.
    """
    each = _checked(record, accepted).join(ticks, on=ROW, how="inner", maintain_order="left")
    if each.is_empty():
        return worded
    number = pl.concat_str(pl.col("object_id"), pl.lit(MARK), "kind", separator=DIVIDER)
    each = each.with_columns(damage_id=number).sort("checked_on", maintain_order=True)
    added = {"damage": _damages(each), "observation": _observations(each)}
    if record == OBJECT:
        added["condition_check"] = _checks(each)
    keys = {"damage": ["damage_id"], "observation": ["check_id", "damage_id"], "condition_check": ["check_id"]}
    known = {"damage": held["damage"].select("damage_id")}
    return {**worded, **{n: _joined(worded.get(n), rows, keys[n], known.get(n)) for n, rows in added.items()}}


def _checked(record: str, accepted: pl.DataFrame) -> pl.DataFrame:
    """The checks of accepted rows: row, check_id, object_id, checked_on, from_row; of an object, that of its remark."""
    if record != OBJECT:
        return accepted.select(ROW, "check_id", "object_id", "checked_on", pl.coalesce(FROM, ROW).alias(FROM))
    dated = "condition_remark_on" in accepted.columns
    day = pl.col("condition_remark_on") if dated else pl.lit(None, pl.String)
    number = pl.concat_str(pl.col("object_id"), pl.lit(MARK), separator=DIVIDER)
    return accepted.select(ROW, "object_id", pl.coalesce(FROM, ROW).alias(FROM), check_id=number, checked_on=day)


def _joined(
    worded: pl.DataFrame | None, rows: pl.DataFrame, key: Sequence[str], known: pl.DataFrame | None
) -> pl.DataFrame:
    """Rows that words tell of, then those of ticks that neither the words nor the register have."""
    new = rows.unique(key, keep="first", maintain_order=True)
    for others in (worded, known):
        new = new if others is None else new.join(others, on=key, how="anti", maintain_order="left")
    return new if worded is None else pl.concat([worded, new], how="diagonal")


def _first(name: str, prop: str) -> str:
    return vocabulary(name).terms_where(prop)[0]


def _damages(each: pl.DataFrame) -> pl.DataFrame:
    onset = pl.lit(_first("onset", "old"))
    return each.select(
        "damage_id", "object_id", "kind", FROM, part=pl.lit(WHOLE), onset=onset, first_seen_on="checked_on"
    )


def _observations(each: pl.DataFrame) -> pl.DataFrame:
    return each.select("check_id", "damage_id", "note", FROM, activity=pl.lit(_first("activity", "not_assessed")))


def _checks(each: pl.DataFrame) -> pl.DataFrame:
    terms = {"occasion": "occasion", "look": "look", "source": "check_source"}
    from_catalogue = {column: pl.lit(_first(name, "from_catalogue")) for column, name in terms.items()}
    return each.select("check_id", "object_id", "checked_on", FROM, **from_catalogue)
