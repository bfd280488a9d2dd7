"""Checks, damage and repairs that a remark, or the finding of a check, tells of: rows of records from words."""

from collections.abc import Mapping

import polars as pl

from collection.intake.languages import Languages
from collection.intake.text.remarks import read_remarks
from collection.snapshot import Collection
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

DIVIDER = "/"
MARK = "remark"  # of the numbers made here


def checks_from_remarks(objects: pl.DataFrame, languages: Languages) -> Mapping[str, pl.DataFrame]:
    """Checks, damages, observations, repairs and states from the remarks of accepted objects.

    `objects`: object_id, condition_remark, condition_remark_on (may be null), from_row, and `doubted` where no damage
    or repair is to be read. The remark's own date stands where the column has none; a remark without any date gives a
    check without one.
    """
    remarks = objects.filter(pl.col("condition_remark").is_not_null())
    read = _where_sure(remarks, read_remarks(remarks["condition_remark"], languages))
    dated = read.with_columns(checked_on=pl.coalesce("condition_remark_on", "dated"), check_id=_number())
    return {"condition_check": _checks(dated), **_damages(dated), **_repairs(dated)}


def lines_from_findings(checks: pl.DataFrame, languages: Languages, held: Collection) -> Mapping[str, pl.DataFrame]:
    """Damages, observations, repairs and states that the findings of accepted checks tell of.

    `checks`: check_id, object_id, checked_on, summary_observed, from_row, doubted. A damage or repair that is known
    from words already gets a line of this check and stays as it is.
    """
    worded = checks.filter(pl.col("summary_observed").is_not_null())
    read = _where_sure(worded, read_remarks(worded["summary_observed"], languages))
    read = read.sort("checked_on", maintain_order=True)
    rows = {**_damages(read), **_repairs(read)}
    for record, key in (("damage", "damage_id"), ("repair", "repair_id")):
        rows[record] = rows[record].unique(key, keep="first", maintain_order=True)
        rows[record] = rows[record].join(held[record], on=key, how="anti", maintain_order="left")
    return rows


def _where_sure(rows: pl.DataFrame, read: pl.DataFrame) -> pl.DataFrame:
    """The rows with what was read of them; nothing of what is there in those that are in doubt."""
    lists = ("kinds", "activities", "repair_materials")
    both = rows.hstack(read.drop("doubted"))
    emptied = [pl.when(~pl.col("doubted")).then(n).otherwise(pl.lit([], pl.List(pl.String))).alias(n) for n in lists]
    return both.with_columns(emptied)


def _number(*more: pl.Expr) -> pl.Expr:
    return pl.concat_str([pl.col("object_id"), pl.lit(MARK), *more], separator=DIVIDER)


def _first(name: str, prop: str) -> str:
    return vocabulary(name).terms_where(prop)[0]


def _checks(read: pl.DataFrame) -> pl.DataFrame:
    return read.select(
        "check_id",
        "object_id",
        "checked_on",
        occasion=pl.lit(_first("occasion", "from_catalogue")),
        look=pl.lit(_first("look", "from_catalogue")),
        source=pl.lit(_first("check_source", "from_catalogue")),
        summary_observed="condition_remark",
        from_row="from_row",
    )


def _damages(read: pl.DataFrame) -> Mapping[str, pl.DataFrame]:
    each = read.explode("kinds", "activities", empty_as_null=False).filter(pl.col("kinds").is_not_null())
    each = each.with_columns(damage_id=_number(pl.col("kinds")))
    damage = each.select(
        "damage_id",
        "object_id",
        part=pl.lit(WHOLE),
        kind="kinds",
        onset=pl.lit(_first("onset", "old")),
        first_seen_on="checked_on",
        from_row="from_row",
    )
    seen = each.select(
        "check_id",
        "damage_id",
        activity="activities",
        note="remark_words",
        from_row="from_row",
    )
    return {"damage": damage, "observation": seen}


def _repairs(read: pl.DataFrame) -> Mapping[str, pl.DataFrame]:
    each = read.explode("repair_materials", empty_as_null=False).filter(pl.col("repair_materials").is_not_null())
    each = each.with_columns(repair_id=_number(pl.col("repair_materials")))
    repair = each.select(
        "repair_id",
        "object_id",
        part=pl.lit(WHOLE),
        function=pl.lit(_first("repair_function", "usual")),
        material="repair_materials",
        from_row="from_row",
    )
    seen = each.select(
        "check_id",
        "repair_id",
        stability=pl.lit(_first("stability", "not_assessed")),
        note="remark_words",
        from_row="from_row",
    )
    return {"repair": repair, "repair_state": seen}
