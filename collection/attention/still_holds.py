"""Whether what was done still holds: an interim action that answers a cause of acting now, and the last check.

A check no longer holds after moves, accidents, figures that disagree; an action no longer after a check or a move.
"""

import polars as pl

from collection.facts.facts import Facts
from collection.facts.wording import day_words, of_hazards, reasoned, with_phrase
from collection.risk.hazards import hazard_id
from collection.risk.rate_rows import DAMAGE
from schemas.vocabularies import vocabulary

FIGURES = {"length_mm": "length [mm]", "area_mm2": "area [mm²]", "count": "count"}
c = pl.col


def answered(causes: pl.LazyFrame, properties: tuple[str, ...], facts: Facts) -> pl.LazyFrame:
    """Causes (schema REASON) that a standing action answers, with done_on and did (words); once for each cause.

    An action answers what it names: a hazard, the fault of a place, or all causes of its object where it names none;
    it must have one of the `properties` that the class asks for, and be no older than the check that last saw the
    cause.
    """
    actions = _standing(facts).filter(c("what").is_in(_with_any(properties)))
    numbered = causes.with_row_index("cause")
    by_object = numbered.join(
        actions.filter(c("of_object").is_not_null()), left_on="object_id", right_on="of_object", how="inner"
    ).filter(c("of_hazard").is_null() | (c("of_hazard") == c("hazard_id")))
    by_place = numbered.join(
        actions.filter(c("of_place").is_not_null()), left_on="location_id", right_on="of_place", how="inner"
    ).filter(c("of_fault").is_null() | (c("of_fault") == c("fault")))
    names = [*numbered.collect_schema(), "done_on", "did"]
    both = pl.concat([by_object.select(names), by_place.select(names)])
    newer = both.filter(c("since").is_null() | (c("done_on") >= c("since")))
    return newer.sort("done_on", descending=True).unique("cause", keep="first", maintain_order=True)


def unanswered(causes: pl.LazyFrame, properties: tuple[str, ...], facts: Facts) -> pl.LazyFrame:
    """Causes that no standing action answers."""
    done = answered(causes, properties, facts).select("cause")
    return causes.with_row_index("cause").join(done, on="cause", how="anti").drop("cause")


def _with_any(properties: tuple[str, ...]) -> list[str]:
    return [term for term, its in vocabulary("action").term.items() if any(its.get(name) for name in properties)]


def _standing(facts: Facts) -> pl.LazyFrame:
    """Actions that hold on the day: not past their last day, the object not moved and no new piece loose since."""
    labels = vocabulary("action").labels()
    actions = facts.collection["action"].lazy().filter(c("until").is_null() | (c("until") >= facts.as_of))
    moved = facts.of("move").group_by("object_id").agg(moved_on=c("moved_on").max())
    pieces = facts.of("fragment").filter(c("status").is_in(vocabulary("fragment_status").terms_where("loose")))
    loose = pieces.group_by("object_id").agg(piece_on=c("checked_on").max())
    known = actions.join(moved, on="object_id", how="left").join(loose, on="object_id", how="left")
    still = known.filter(
        c("moved_on").is_null() | (c("moved_on") <= c("done_on")),
        c("piece_on").is_null() | (c("piece_on") <= c("done_on")),
    )
    did = pl.format("{} on {}", c("what").replace_strict(labels, default=c("what")).str.to_lowercase(),
                    day_words("done_on"))  # fmt: skip
    return still.select("what", "done_on", did=did, of_object="object_id", of_hazard="hazard_id",
                        of_place="location_id", of_fault="fault")  # fmt: skip


def supported(facts: Facts) -> pl.LazyFrame:
    """object_id and hazard_id (null: all) of what somebody supported and nobody has moved since."""
    props = _with_any(("supports",))
    return _standing(facts).filter(c("what").is_in(props)).select(object_id="of_object", hazard_id="of_hazard")


def moved(facts: Facts) -> pl.LazyFrame:
    """Objects moved since the last check: with an accident, on a journey, or with a hazard that moves badly."""
    after = _after_check(facts.of("move"), "moved_on", facts)
    journeys = list(vocabulary("packing").properties("counts_as"))
    weak = facts.where(c("moves_badly") | c("secure_always")).select("object_id", weak=pl.lit(value=True)).unique()
    known = after.join(weak, on="object_id", how="left")
    speaking = known.filter(c("accident").fill_null(False) | c("packed").is_in(journeys).fill_null(False) | c("weak"))
    accident = pl.when(c("accident")).then(pl.lit("accident on the way, ")).otherwise(pl.lit(""))
    return reasoned(speaking, pl.format("{}moved {}, not checked since", accident, day_words("moved_on")))


def accidents(facts: Facts) -> pl.LazyFrame:
    """Objects with an accident or climate event on record that nobody has checked closely since."""
    events = vocabulary("occasion").terms_where("accident")
    checks = facts.mine(facts.risk.checks).filter(c("occasion").is_in(events))
    after = _after_check(checks, "seen_on", facts)
    words = c("occasion").replace_strict(vocabulary("occasion").labels(), default=c("occasion")).str.to_lowercase()
    return reasoned(after, pl.format("{} ({}), not checked since", words, day_words("seen_on")))


def disagreements(facts: Facts) -> pl.LazyFrame:
    """Damage whose last line says grown and measures less, or says not grown and measures clearly more than before."""
    last = facts.hazards
    lines = facts.collection["observation"].lazy()
    compared = lines.filter(c("compared_with").is_not_null()).with_columns(hazard_id=hazard_id(DAMAGE, "damage_id"))
    now = with_phrase(last, facts).join(compared, on=["hazard_id", "check_id"])
    earlier = lines.select("damage_id", "measurement_error", *FIGURES, compared_with="check_id")
    pairs = now.join(earlier, on=["damage_id", "compared_with"], suffix="_then")
    return pl.concat(
        of_hazards(pairs.filter(_disagrees(name, facts)).with_columns(phrase=_figures(name)), "") for name in FIGURES
    )


def _disagrees(name: str, facts: Facts) -> pl.Expr:
    grown = c("change").is_in(vocabulary("change").terms_where("grown")).fill_null(False)
    error = pl.max_horizontal("measurement_error", "measurement_error_then").fill_null(0)
    more = c(name) - c(f"{name}_then")
    return (grown & (more < 0)) | (~grown & (more > facts.rates.lines.growth_beyond * error))


def _figures(name: str) -> pl.Expr:
    labels = vocabulary("change").labels()
    change = c("change").replace_strict(labels, default="").str.to_lowercase()
    return pl.format(
        "{}: said to be {}, but {} {} after {}", "phrase", change, pl.lit(FIGURES[name]), name, f"{name}_then"
    )


def _after_check(rows: pl.LazyFrame, day: str, facts: Facts) -> pl.LazyFrame:
    checked = facts.objects.select("object_id", "last_checked_on")
    return rows.join(checked, on="object_id").filter(c(day) > c("last_checked_on"))
