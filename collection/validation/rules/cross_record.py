"""Rules that hold over several records. Each is a function named for what a person sees.

Every one takes the rows at hand and the session, which looks up any record, held and incoming together.
"""

from collections.abc import Callable, Mapping

import polars as pl

from collection.validation.problems import ROW, no_problems, problems_of
from collection.validation.rules import plans
from collection.validation.session import Session
from collection.validation.spelling import nearest, normal
from schemas.fields import ForeignKey
from schemas.records.catalogue import WHOLE
from schemas.tables import RECORDS, TableSpec
from schemas.vocabularies import load_parameters, vocabulary

Relation = Callable[[pl.DataFrame, Session], pl.DataFrame]


def check_of_another_object(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """An observation or state belongs to a check of the object that the damage or repair is on."""
    record, number = ("damage", "damage_id") if "damage_id" in rows.columns else ("repair", "repair_id")
    both = rows.join(session.rows("condition_check").select("check_id", check_object="object_id"), on="check_id").join(
        session.rows(record).select(number, its_object="object_id"), on=number
    )
    wrong = both.filter(pl.col("check_object") != pl.col("its_object"))
    return problems_of(wrong, "check_of_another_object", "check_id", value=pl.col("check_id"))


def closed_damage_observed(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A closed damage is not observed again unless reopened; a line that says nothing is no observation."""
    silent = vocabulary("change").terms_where("says_nothing")
    closed = session.rows("damage").filter(pl.col("closed_on").is_not_null()).select("damage_id", "closed_on")
    dated = session.rows("condition_check").select("check_id", "checked_on_earliest")
    late = rows.join(closed, on="damage_id").join(dated, on="check_id")
    late = late.filter(pl.col("checked_on_earliest") > pl.col("closed_on"))
    if "change" in rows.columns:
        late = late.filter(~pl.col("change").is_in(list(silent)).fill_null(value=False))
    return problems_of(late, "closed_damage_observed", "damage_id", value=pl.col("damage_id"))


def part_unknown(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Damage, repair, coverage: the object has the part."""
    if "object_id" not in rows.columns:
        rows = rows.join(session.rows("condition_check").select("check_id", "object_id"), on="check_id")
    named = rows.filter(pl.col("part").is_not_null() & (pl.col("part") != WHOLE))
    lost = named.join(session.rows("part").select("object_id", "part"), on=["object_id", "part"], how="anti")
    return problems_of(lost, "part_unknown", "part", value=pl.col("part"))


def not_offered(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A kind of damage offers only the activities that have a row in the table of rates."""
    if "activity" not in rows.columns:
        return no_problems()
    offered = pl.DataFrame(_offered(), schema={"kind": pl.String, "activity": pl.String}, orient="row")
    kinds = session.rows("damage").select("damage_id", "kind")
    rated = kinds.join(offered, on="kind", how="semi")
    judged = rows.filter(pl.col("activity").is_not_null()).join(rated, on="damage_id")
    wrong = judged.join(offered, on=["kind", "activity"], how="anti")
    return problems_of(wrong, "not_offered", "activity", value=pl.col("activity"))


def kind_without_rates(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A kind of damage that the table of rates does not have yet can be recorded, and is said.

    Kinds that make no hazard need no rates.
    """
    rated = pl.DataFrame(_offered(), schema={"kind": pl.String, "activity": pl.String}, orient="row")
    kinds = session.rows("damage").select("damage_id", "kind")
    harmless = pl.col("kind").is_in(vocabulary("damage").terms_where("no_hazard"))
    unrated = kinds.filter(~harmless).join(rated, on="kind", how="anti")
    return problems_of(rows.join(unrated, on="damage_id"), "kind_without_rates", "damage_id", value=pl.col("kind"))


def _offered() -> list[tuple[str, str]]:
    """Kind and activity of every row of the table of rates; a kind without a row offers none."""
    activities, rates = set(vocabulary("activity").term), load_parameters("rates")["rate"]
    rows_of = {k: e.get("rows_by_stage") or [k] for k, e in vocabulary("damage").term.items()}
    return [(k, a) for k, names in rows_of.items() for a in activities if any(a in rates.get(n, {}) for n in names)]


def signed_check_changed(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A signed check never changes: a correction is a new check that supersedes it."""
    if "row_version" not in rows.columns:
        return no_problems()
    signed = session.standing("condition_check").filter(pl.col("signed_on").is_not_null())
    changed = rows.filter(pl.col("row_version").is_not_null()).join(
        signed.select("check_id"), on="check_id", how="semi"
    )
    return problems_of(changed, "signed_check_changed", "check_id", value=pl.col("check_id"))


def line_of_signed_check(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """What a signed check saw does not change either."""
    signed = session.standing("condition_check").filter(pl.col("signed_on").is_not_null())
    late = rows.join(signed.select("check_id"), on="check_id", how="semi")
    return problems_of(late, "signed_check_changed", "check_id", value=pl.col("check_id"))


def part_in_two_places(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A part is on one loan at a time; a lid may be lent while its box stays."""
    days = session.rows("loan_leg").group_by("loan_id").agg(pl.col("starts_on").min(), pl.col("ends_on").max())
    mine = rows.join(days, on="loan_id")
    place = [*RECORDS["loan_object"].key, ROW]
    held = session.standing("loan_object").with_columns(pl.lit(-1, pl.Int64).alias(ROW)).select(place)
    others = (
        pl.concat([held, rows.select(place)])
        .join(days, on="loan_id")
        .select("object_id", "part", other="loan_id", above=ROW, other_starts="starts_on", other_ends="ends_on")
    )
    both = mine.join(others, on=["object_id", "part"]).filter(pl.col("loan_id") != pl.col("other"))
    overlap = (pl.col("starts_on") <= pl.col("other_ends")) & (pl.col("other_starts") <= pl.col("ends_on"))
    overlap &= pl.col("above") < pl.col(ROW)  # of two rows of one file the later one has to give way
    return problems_of(both.filter(overlap).unique(ROW), "part_in_two_places", "part", value=pl.col("other"))


def stable_without_comparison(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Stable needs something earlier to compare with."""
    needing = vocabulary("activity").terms_where("needs_compared_with")
    if "activity" not in rows.columns:
        return no_problems()
    compared = pl.col("compared_with") if "compared_with" in rows.columns else pl.lit(None, pl.String)
    bare = rows.filter(pl.col("activity").is_in(list(needing)) & compared.is_null())
    return problems_of(bare, "stable_without_comparison", "compared_with")


def shares_do_not_sum(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """The shares of an object's parts sum to 1."""
    tolerance = load_parameters("lines")["lines"]["share_sum_tolerance"]
    sums = (
        session.rows("part")
        .group_by("object_id")
        .agg(pl.col("value_share").sum().alias("sum"), pl.col("value_share").count().alias("n"))
    )
    wrong = sums.filter((pl.col("n") > 0) & ((pl.col("sum") - 1).abs() > tolerance))
    return problems_of(
        rows.join(wrong, on="object_id").unique("object_id", maintain_order=True),
        "shares_do_not_sum",
        "value_share",
        value=pl.col("sum"),
    )


def covers_original(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A fill or coating over original surface asks for a reason."""
    if "covers_original" not in rows.columns:
        return no_problems()
    reason = pl.col("covers_original_reason") if "covers_original_reason" in rows.columns else pl.lit(None, pl.String)
    return problems_of(
        rows.filter(pl.col("covers_original") & reason.is_null()), "covers_original", "covers_original_reason"
    )


def exposed_metal_with_loss(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Exposed metal stands only where no loss is recorded for the place."""
    excluded = [(k, other) for k, others in vocabulary("damage").properties("without").items() for other in others]
    pairs = pl.DataFrame(excluded, schema={"kind": pl.String, "other": pl.String}, orient="row")
    place = [c for c in ("object_id", "part", "side") if c in rows.columns]
    others = session.rows("damage").filter(pl.col("closed_on").is_null()).select(*place, other="kind")
    both = rows.join(pairs, on="kind").join(others, on=[*place, "other"], how="semi", nulls_equal=True)
    return problems_of(both, "exposed_metal_with_loss", "kind", value=pl.col("kind"))


def flaw_that_happened(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """A flaw of firing did not happen in use; of one that may come years later the origin is uncertain."""
    flaws, in_use = vocabulary("damage").terms_where("flaw"), vocabulary("origin").terms_where("happened")
    origin = pl.col("origin") if "origin" in rows.columns else pl.lit(None, pl.String)
    wrong = rows.filter(pl.col("kind").is_in(flaws) & origin.is_in(in_use))
    return problems_of(wrong, "flaw_that_happened", "origin", value=origin)


def treatment_without_authorisation(rows: pl.DataFrame, session: Session) -> pl.DataFrame:
    """Somebody authorised every treatment."""
    named = pl.col("authorised_by").is_not_null() if "authorised_by" in rows.columns else pl.lit(value=False)
    return problems_of(rows.filter(~named), "treatment_without_authorisation", "authorised_by")


RELATIONS: Mapping[str, tuple[Relation, ...]] = {
    "part": (shares_do_not_sum,),
    "condition_check": (signed_check_changed,),
    "coverage": (part_unknown, line_of_signed_check),
    "damage": (part_unknown, exposed_metal_with_loss, flaw_that_happened),
    "observation": (
        check_of_another_object,
        closed_damage_observed,
        not_offered,
        kind_without_rates,
        stable_without_comparison,
        line_of_signed_check,
    ),
    "repair": (part_unknown, covers_original),
    "repair_state": (check_of_another_object, line_of_signed_check),
    "treatment": (treatment_without_authorisation,),
    "loan_object": (part_in_two_places,),
    **plans.RULES,
}

Keys = Callable[[str], pl.Series]  # record to the numbers of its rows


def broken_references(
    rows: pl.DataFrame, spec: TableSpec, known: Keys, refused: Mapping[str, pl.Series]
) -> pl.DataFrame:
    """Problems of rows that point to nothing, or to a row that was refused. Schema `UNWORDED`.

    A row that only follows from another one points to that one, or to what follows from it as well.
    """
    listed = []
    own = rows.filter(pl.col(ROW) >= 0)
    for column in spec.marked(ForeignKey) if own.height else ():
        points = column.mark(ForeignKey)
        if points is None or column.name not in rows.columns:
            continue
        target = known(points.record)
        if points.record == spec.name:  # a tree points into its own sheet
            target = pl.concat([target, rows[spec.key[0]]])
        lost = own.filter(pl.col(column.name).is_not_null() & ~pl.col(column.name).is_in(target.implode()))
        if not lost.is_empty():
            listed.append(_worded(lost, column.name, target, refused.get(points.record)))
    return pl.concat([no_problems(), *listed])


def _worded(lost: pl.DataFrame, column: str, target: pl.Series, refused: pl.Series | None) -> pl.DataFrame:
    parents = refused if refused is not None else pl.Series([], dtype=pl.String)
    orphan = pl.col(column).is_in(parents.implode())
    unknown = lost.filter(~orphan).with_columns(normal(column).alias("normal"))
    spelt = pl.DataFrame({"known": target}).with_columns(normal("known").alias("normal")).unique("normal")
    near = unknown.join(spelt, on="normal", how="left", maintain_order="left")
    asked = near.filter(pl.col("known").is_null())["normal"].unique(maintain_order=True).to_list()
    alike = nearest(asked, dict(spelt.drop_nulls().sort("known").select("known", "normal").rows()))
    near = near.with_columns(known=pl.coalesce("known", near["normal"].replace_strict(alike, default=None)))
    meant = near.select(e=pl.format("a known number; did you mean '{}'?", "known"))["e"]
    unmet = problems_of(near, "unknown_reference", column, value=pl.col(column)).with_columns(expected=meant)
    return pl.concat([unmet, problems_of(lost.filter(orphan), "row_of_refused_parent", column, value=pl.col(column))])
