"""What is expected of what nobody has checked: it stands beside the risk of an object and never inside it."""

from dataclasses import dataclass

import polars as pl

from collection.frames import returns
from collection.risk.expectation import GAINS, LOOKED, Expectation, expect, since
from collection.risk.first_checks import losses_at_inspections
from collection.risk.kinds import first_that_fits
from collection.risk.parameters import DAYS_A_YEAR, read
from collection.risk.placed import rooms
from collection.risk.rates import RatesTable
from collection.risk.unchecked_parameters import RemarkOdds, Unchecked
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

FILE = "unchecked"
UNCHECKED = pl.Schema(
    {"object_id": pl.String, "kind": pl.Int32, "room": pl.String, "years": pl.Float64, "odds": pl.Float64}
    | {"never": pl.Float64, "unchecked_loss": pl.Float64}
)
c = pl.col


@dataclass(frozen=True)
class FirstChecks:
    """What first checks found, and what was learned from it.

    every : schema INSPECTED with kind and room, the first inspection of each object. used : those learned from; they
    are a fair sample where `fair`, else people chose them. gains : schema GAINS, by object besides.
    """

    every: pl.DataFrame
    used: pl.DataFrame
    fair: bool
    gains: pl.DataFrame
    expectation: Expectation
    kinds: pl.DataFrame


def starting() -> Unchecked:
    """The starting values of unchecked.toml. Raises VocabularyError."""
    return read(Unchecked, FILE, FILE)


def kind_of(objects: pl.DataFrame) -> pl.Expr:
    """Number of the first row of [[unchecked.kind]] that fits an object; the last where none does."""
    rows = starting().kind
    return pl.coalesce(first_that_fits(rows, objects), pl.lit(len(rows) - 1, pl.Int32))


def first_checks(collection: Collection, checks: pl.DataFrame, objects: pl.DataFrame, rates: RatesTable) -> FirstChecks:
    """Learn from the museum's own first checks. `checks`: schema CHECKS; `objects`: the record with technique_key."""
    values = starting()
    named = objects.select("object_id", "location_id", kind=kind_of(objects))
    kinds = named.join(rooms(collection["location"]), on="location_id", how="left").select("object_id", "kind", "room")
    inspections = losses_at_inspections(collection, checks, rates).join(kinds, on="object_id")
    every = inspections.unique("object_id", keep="first", maintain_order=True)
    fair = every.filter(c("representative") & ~c("arrival"))
    enough = fair.height >= values.fewest_first_checks
    used = every.filter(c("representative") | c("arrival")) if enough else every
    gains = _gains(collection, inspections)
    looked, pairs = used.select(LOOKED.names()), gains.select(GAINS.names())
    expected = expect(looked, pairs, values, rates.lines.treat_from, kinds["kind"].unique().to_list())
    return FirstChecks(every, used, enough, gains, expected, kinds)


@returns(UNCHECKED)
def unchecked(collection: Collection, checks: pl.DataFrame, objects: pl.DataFrame, first: FirstChecks) -> pl.DataFrame:
    """Expected loss of what nobody has checked, schema UNCHECKED, of every object.

    Parameters
    ----------
    objects : object_id, look, last_checked_on, grade (of the last check).

    Returns
    -------
    never : what an object of the kind that nobody has checked is expected to lose. unchecked_loss [share of value a
    year] : that for objects never inspected, less what a sweep finds; what may have come since the last inspection for
    the others, with sides and parts never seen as never checked. years : since the kind's mean first check.
    """
    values, expected = starting(), first.expectation
    timed = _timed(collection, checks, objects, first)
    kind = timed["kind"].to_numpy()
    never = expected.never(
        kind, timed["room"].to_list(), timed["years"].to_numpy(), timed["odds"].to_numpy(), values.chance_at_most
    )
    came = since(never, expected.gain[kind.astype(int)], timed["ago"].to_numpy())
    figures = timed.with_columns(never=pl.Series(never), came=pl.Series(came))
    swept = c("last_checked_on").is_not_null()
    of_never = c("never") * pl.when(swept).then(1 - values.sweep_finds).otherwise(1.0)
    of_seen = c("aside") * c("never") + (1 - c("aside")) * c("came")
    loss = pl.when(c("inspected_on").is_null()).then(of_never).otherwise(of_seen)
    return figures.with_columns(unchecked_loss=loss).select(*UNCHECKED)


def _timed(collection: Collection, checks: pl.DataFrame, objects: pl.DataFrame, first: FirstChecks) -> pl.DataFrame:
    """The objects with kind, room, odds, aside (share not covered), years since the kind's mean first check, and ago,
    years since the object's own last inspection.
    """
    joined = objects
    for more, key in (
        (first.kinds, "object_id"),
        (first.every.group_by("kind").agg(first_on=c("seen_on").mean()), "kind"),
        (_last_inspected(first, checks), "object_id"),
        (_remark_odds(collection, checks), "object_id"),
        (_not_covered(collection, checks), "object_id"),
    ):
        joined = joined.join(more, on=key, how="left", maintain_order="left")
    day = pl.lit(collection.day)
    return joined.with_columns(
        years=((day - c("first_on")).dt.total_days().clip(0) / DAYS_A_YEAR).fill_null(0.0),
        ago=((day - c("inspected_on")).dt.total_days().clip(0) / DAYS_A_YEAR).fill_null(0.0),
        odds=pl.when(c("last_checked_on").is_null()).then(c("odds")).fill_null(1.0),
        aside=c("not_covered").fill_null(0.0),
    )


def _last_inspected(first: FirstChecks, checks: pl.DataFrame) -> pl.DataFrame:
    """object_id and inspected_on, the day of the last inspection of each object that had one."""
    inspected = first.every.select("object_id", first_on="seen_on")
    looks = vocabulary("look").terms_where("each_damage")
    dated = checks.filter(c("look").is_in(looks)).group_by("object_id").agg(inspected_on=c("seen_on").max())
    return inspected.join(dated, on="object_id").select("object_id", "inspected_on")


def _gains(collection: Collection, inspections: pl.DataFrame) -> pl.DataFrame:
    """object_id, kind, gained, years between successive inspections of an object with no treatment between them."""
    ordered = inspections.sort("object_id", "place_in_order")
    pairs = ordered.with_columns(
        before=c("loss").shift(1).over("object_id"), before_on=c("seen_on").shift(1).over("object_id")
    ).filter(c("before_on").is_not_null())
    day = pl.coalesce("finished_on", "started_on")
    treated = collection["treatment"].select("object_id", treated_on=day).drop_nulls().sort("treated_on")
    dated = pairs.sort("seen_on").join_asof(
        treated, left_on="seen_on", right_on="treated_on", by="object_id", check_sortedness=False
    )
    left_alone = dated.filter(c("treated_on").is_null() | (c("treated_on") <= c("before_on")))
    years = (c("seen_on") - c("before_on")).dt.total_days() / DAYS_A_YEAR
    return left_alone.select("object_id", "kind", gained=c("loss") - c("before"), years=years)


def _remark_odds(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """object_id and odds: by the worst its catalogue remark names; a remark that was not understood says nothing."""
    values = read(RemarkOdds, FILE, "remark_odds")
    remarks = checks.filter(c("look").is_in(vocabulary("look").terms_where("from_catalogue")))
    graded = remarks.filter(c("grade").is_not_null()).select("object_id", odds=pl.lit(values.good))
    kinds = collection["damage"].select("damage_id", "kind")
    lines = collection["observation"].join(remarks.select("check_id", "object_id"), on="check_id")
    odds = c("kind").replace_strict(dict(values.damage), default=values.other, return_dtype=pl.Float64)
    damage = lines.join(kinds, on="damage_id").select("object_id", odds=odds)
    states = collection["repair_state"].join(remarks.select("check_id", "object_id"), on="check_id")
    repairs = states.select("object_id", odds=pl.lit(values.repair))
    named = pl.concat([damage, repairs]).group_by("object_id").agg(c("odds").max())
    return pl.concat([named, graded.unique("object_id").join(named, on="object_id", how="anti")])


def _not_covered(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """Share of the object that the last check which says so did not cover: sides not seen, by their part's share."""
    looked = vocabulary("seen").terms_where("looked")
    says = checks.lazy().select("check_id", "object_id", "place_in_order")
    spoken = collection["coverage"].lazy().join(says, on="check_id")
    sides = spoken.filter(pl.col("place_in_order") == pl.col("place_in_order").max().over("object_id"))
    by_part = sides.group_by("object_id", "part").agg(blind=(~pl.col("seen").is_in(looked)).mean())
    parts = collection["part"].lazy().select("object_id", "part", "value_share")
    several = parts.with_columns(share=pl.col("value_share").fill_null(1 / pl.len().over("object_id")))
    weighed = by_part.join(several, on=["object_id", "part"], how="left")
    blind = (pl.col("blind") * pl.col("share").fill_null(1.0)).sum().clip(0, 1)
    return weighed.group_by("object_id").agg(not_covered=blind).collect(engine="in-memory")
