"""Interim actions: which cause of acting now they answer, and when they no longer hold."""

import polars as pl

from collection.facts.facts import Facts
from collection.facts.phrases import day_words
from schemas.vocabularies import vocabulary

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
