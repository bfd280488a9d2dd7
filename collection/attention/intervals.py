"""When an object is to be checked again, and why."""

from collections.abc import Mapping

import polars as pl

from collection.facts.facts import Facts
from collection.frames import returns
from collection.risk.kinds import fits
from collection.risk.parameters import Group, Interval, Look, read
from schemas.errors import VocabularyError

DUE = pl.Schema(
    {"object_id": pl.String, "due_on": pl.Date, "months": pl.Int32, "because": pl.String, "return_for": pl.String}
)

c = pl.col
# Rules that read one hazard.
OF_HAZARD: Mapping[str, pl.Expr] = {
    "moving": c("moving"),
    "one_sighting": c("one_sighting"),
    "unstable_not_quiet": c("unstable_glass") & ~c("needs_climate_held"),
    "unstable_quiet": c("unstable_glass") & c("needs_climate_held"),
    "lifts": c("lifts") & ~c("moving"),
    "not_compared": c("not_compared"),
    "repair_lets_go": c("lets_go") | c("no_longer_works") | c("does_harm"),
    "bearing_repair_ages": c("bears") & c("ages"),
}
# Rules that read an object: its own properties and what its hazards add up to.
OF_OBJECT: Mapping[str, pl.Expr] = {
    "unstable_not_quiet": c("unstable") & ~c("quiet"),
    "on_display": c("on_display"),
    "made_safe": c("made_safe"),
    "coating_on_unstable_glass": c("coated") & (c("unstable") | c("unstable_glass_seen")),
}


@returns(DUE)
def due(facts: Facts) -> pl.LazyFrame:
    """Day of the next check of each object somebody has checked, schema DUE.

    The day a person set at the last check, else the last check plus the shortest interval that fits; `because` says
    which, `return_for` is the reason to return where there is one. Days are worked out once for all rules.
    """
    rows = _rows()
    if "due" not in facts.cached:
        facts.cached["due"] = _days(facts, rows).collect(engine="in-memory").lazy()
    words = [row.words for row in rows]
    because = _pick("row", words, pl.String).fill_null("nothing that asks for an earlier check")
    return facts.cached["due"].select(
        "object_id",
        "due_on",
        "months",
        because=pl.when("day_set").then(pl.lit("day set at the last check")).otherwise(because),
        return_for=_pick("watch_row", words, pl.String),
    )


def _rows() -> list[Interval]:
    return sorted(read(tuple[Interval, ...], "interval_months", "interval"), key=lambda row: row.months)


def _days(facts: Facts, rows: list[Interval]) -> pl.LazyFrame:
    """The row that decides for each object, the row that is a reason to return, and the day."""
    seen = facts.objects.filter(c("last_checked_on").is_not_null())
    acted = facts.of("action").select("object_id", made_safe=pl.lit(value=True)).unique()
    seen = seen.join(acted, on="object_id", how="left").with_columns(c("made_safe").fill_null(value=False))
    summed = seen.join(_of_hazards(facts, rows), on="object_id", how="left").with_columns(
        c("coated", "unstable_glass_seen", "quiet").fill_null(False)
    )
    keys = facts.objects.select(c("technique_key").unique()).collect(engine="in-memory")["technique_key"].to_list()
    numbered = {number: _of_object(row, keys) for number, row in enumerate(rows)}
    first = [pl.when(rule).then(pl.lit(number)) for number, rule in numbered.items()]
    watching = [pl.when(rule).then(pl.lit(n)) for n, rule in numbered.items() if rows[n].watch]
    chosen = summed.with_columns(
        row=pl.min_horizontal("of_hazard", *first), watch_row=pl.min_horizontal("watch_of_hazard", *watching)
    )
    return _dated(chosen, rows, keys)


def _of_hazards(facts: Facts, rows: list[Interval]) -> pl.LazyFrame:
    """The first row that fits any hazard of an object, and what its hazards add up to."""
    numbered = [(n, row) for n, row in enumerate(rows) if row.rule in OF_HAZARD]
    first = [pl.when(OF_HAZARD[str(row.rule)]).then(pl.lit(n)) for n, row in numbered]
    watching = [pl.when(OF_HAZARD[str(row.rule)]).then(pl.lit(n)) for n, row in numbered if row.watch]
    of_row = facts.traits.lazy().select(
        "rate_row",
        of_hazard=pl.min_horizontal(*first),
        watch_of_hazard=pl.min_horizontal(*watching),
        coated="over_surface",
        unstable_glass_seen="unstable_glass",
        quiet=c("unstable_glass") & c("needs_climate_held"),
    )
    telling = of_row.filter(c("of_hazard").is_not_null() | pl.any_horizontal("coated", "unstable_glass_seen", "quiet"))
    mine = facts.mine(facts.risk.hazards).select("object_id", "rate_row").join(telling, on="rate_row")
    return mine.group_by("object_id").agg(
        c("of_hazard", "watch_of_hazard").min(), c("coated", "unstable_glass_seen", "quiet").any()
    )


def _of_object(row: Interval, keys: list[str]) -> pl.Expr:
    if row.rule is None:
        return fits(row, keys)
    if row.rule not in OF_HAZARD and row.rule not in OF_OBJECT:
        raise VocabularyError("interval_months.toml", f"there is no rule {row.rule}", "", "Mend the file.")
    return OF_OBJECT.get(row.rule, pl.lit(False))


def _dated(chosen: pl.LazyFrame, rows: list[Interval], keys: list[str]) -> pl.LazyFrame:
    look = read(Look, "interval_months", "look")
    sound = pl.any_horizontal(fits(row, keys) for row in read(tuple[Group, ...], "interval_months", "nothing_found"))
    otherwise = pl.when(sound & (c("hazards") == 0)).then(look.sound_months).otherwise(look.else_months)
    months = _pick("row", [row.months for row in rows], pl.Int32).fill_null(otherwise).cast(pl.Int32)
    every = sorted({*(row.months for row in rows), look.sound_months, look.else_months})
    after = pl.coalesce(pl.when(c("months") == m).then(c("last_checked_on").dt.offset_by(f"{m}mo")) for m in every)
    return chosen.with_columns(months=months).select(
        "object_id",
        "months",
        "row",
        "watch_row",
        due_on=c("next_check_on").fill_null(after),
        day_set=c("next_check_on").is_not_null(),
    )


def _pick(column: str, choices: list[int] | list[str], dtype: type[pl.DataType]) -> pl.Expr:
    return c(column).replace_strict(dict(enumerate(choices)), default=None, return_dtype=dtype)
