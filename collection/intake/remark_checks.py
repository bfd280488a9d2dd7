"""A condition remark in a catalogue is a look of a kind: a check of its own, with the damage and repairs it names."""

from collections.abc import Mapping

import polars as pl

from collection.intake.languages import Languages
from collection.intake.remarks import read_remarks
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

DIVIDER = "/"
MARK = "remark"  # of the numbers made here


def checks_from_remarks(objects: pl.DataFrame, languages: Languages) -> Mapping[str, pl.DataFrame]:
    """Checks, damages, observations, repairs and states from the remarks of accepted objects.

    `objects`: object_id, condition_remark, condition_remark_on (may be null). The remark's own date stands where the
    column has none; a remark without any date gives a check without one.
    """
    said = objects.filter(pl.col("condition_remark").is_not_null())
    read = said.hstack(read_remarks(said["condition_remark"], languages))
    dated = read.with_columns(checked_on=pl.coalesce("condition_remark_on", "dated"), check_id=_number())
    return {"condition_check": _checks(dated), **_damages(dated), **_repairs(dated)}


def _number(*more: pl.Expr) -> pl.Expr:
    return pl.concat_str([pl.col("object_id"), pl.lit(MARK), *more], separator=DIVIDER)


def _first(name: str, prop: str) -> str:
    return vocabulary(name).having(prop)[0]


def _checks(read: pl.DataFrame) -> pl.DataFrame:
    return read.select(
        "check_id",
        "object_id",
        "checked_on",
        occasion=pl.lit(_first("occasion", "from_catalogue")),
        look=pl.lit(_first("look", "from_catalogue")),
        source=pl.lit(_first("check_source", "from_catalogue")),
        summary_observed="condition_remark",
    )


def _damages(read: pl.DataFrame) -> Mapping[str, pl.DataFrame]:
    each = read.explode("kinds", empty_as_null=False).filter(pl.col("kinds").is_not_null())
    each = each.with_columns(damage_id=_number(pl.col("kinds")))
    damage = each.select(
        "damage_id",
        "object_id",
        part=pl.lit(WHOLE),
        kind="kinds",
        onset=pl.lit(_first("onset", "old")),
        first_seen_on="checked_on",
    )
    seen = each.select(
        "check_id", "damage_id", activity=pl.lit(_first("activity", "not_assessed")), note="remark_words"
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
    )
    seen = each.select(
        "check_id", "repair_id", stability=pl.lit(_first("stability", "not_assessed")), note="remark_words"
    )
    return {"repair": repair, "repair_state": seen}
