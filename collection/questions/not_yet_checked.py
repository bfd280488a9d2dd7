"""What nobody has checked yet, and what is expected there: by object, and by kind with limits."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from collection.questions.words import count, percent
from collection.risk.hazards import hazard_id
from collection.risk.kinds import with_technique_key
from collection.risk.rate_rows import REPAIR
from collection.risk.unchecked import FirstChecks, first_checks, starting, unchecked
from collection.risk.unchecked_interval import CHECKED, WAITING, Evidence, Interval, total_interval
from schemas.terms import Selection
from schemas.vocabularies import terms, vocabulary

NOT_CHECKED = pl.Schema(
    {n: pl.String() for n in ("object_id", "title", "attention", "label", "place", "location_id", "because", "risk")}
    | {"expected_loss": pl.Float64()}
)
BY_KIND = pl.Schema(
    {"kind": pl.String, "objects": pl.UInt32, "checked_first": pl.UInt32, "above_limit": pl.UInt32}
    | dict.fromkeys(("chance", "expected_objects", "expected_loss"), pl.Float64)
)
c = pl.col


@returns(NOT_CHECKED)
def not_checked(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Objects never checked in person, by what may be lost there, largest first; schema NOT_CHECKED.

    expected_loss [share of the collection's value a year]: what a remark already names and what is expected of its
    kind together. `because` is what a remark says, else the kind it is judged by.
    """
    objects = triage.collection["object"].select("object_id", "title", remark="condition_remark")
    places = triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    rows = never_checked(chosen).join(objects, on="object_id", how="left", maintain_order="left")
    lost = (pl.col("annual_loss") + pl.col("unchecked_loss").fill_null(0.0)) * pl.col("value_share")
    worded = rows.join(places, on="location_id", how="left", maintain_order="left").with_columns(
        expected_loss=lost,
        because=pl.coalesce(pl.format("remark: {}", "remark"), pl.lit("judged by its kind")),
        label=pl.col("attention").replace_strict(vocabulary("attention").labels(), return_dtype=pl.String),
        risk=pl.Series([_words(a + (u or 0)) for a, u in rows.select("annual_loss", "unchecked_loss").iter_rows()],
                       dtype=pl.String),
    )  # fmt: skip
    ordered = worded.sort("expected_loss", "object_id", descending=[True, False], nulls_last=True)
    return ordered.select(pl.col(n).cast(t) for n, t in NOT_CHECKED.items())


def never_checked(chosen: pl.DataFrame) -> pl.DataFrame:
    """The rows of objects never checked in person."""
    return chosen.filter(pl.col("last_checked_on").is_null())


def _words(loss: float | None) -> str:
    return f"{percent(loss)} of its value a year expected" if loss else "nothing expected, or not here"


@dataclass(frozen=True)
class Expected:
    """First checks, what is waiting (schema WAITING with object_id), and the limits of its total if there are any."""

    first: FirstChecks
    waiting: pl.DataFrame
    interval: Interval | None
    tilt: str | None


def expected(triage: Triage, chosen: pl.DataFrame) -> Expected:
    """What the chosen objects that nobody has checked are expected to lose."""
    record = with_technique_key(triage.collection["object"])
    first = first_checks(triage.collection, triage.risk.checks, record, triage.rates)
    rows = triage.risk.objects.join(triage.risk.looks.select("object_id", "grade"), on="object_id", how="left")
    never = chosen.filter(c("last_checked_on").is_null(), c("value_share") > 0)
    mine = unchecked(triage.collection, triage.risk.checks, rows, first).join(never, on="object_id", how="semi")
    weighed = mine.join(triage.risk.objects.select("object_id", weight="value_share"), on="object_id")
    waiting = weighed.select("object_id", *(c(n).cast(t) for n, t in WAITING.items()))
    tilt = None if first.fair else _tilt(first.used)
    interval = None
    if waiting.height and first.used.height:
        day = c("seen_on").dt.epoch("d").cast(pl.Float64)
        seen = first.used.with_columns(order=day).select(c(n).cast(t) for n, t in CHECKED.items())
        evidence = Evidence(seen, first.gains, triage.rates.lines.treat_from, tilt)
        interval = total_interval(waiting, evidence, first.expectation, starting())
    return Expected(first, waiting, interval, tilt)


def _tilt(used: pl.DataFrame) -> str | None:
    """How most of what was not chosen fairly was chosen; not known where no survey says."""
    tilts = used.filter(~c("representative"))["tilt"].drop_nulls()
    return str(tilts.mode().sort()[0]) if tilts.len() * 2 > used.height else _not_known().tilt


def _not_known() -> Selection:
    """How objects were chosen where nobody wrote how."""
    return next(way for way in terms("selection", Selection).values() if way.not_known)


@returns(BY_KIND)
def by_kind(its: Expected) -> pl.DataFrame:
    """Objects waiting by kind, most expected first, schema BY_KIND; expected_loss [share of the collection's value a
    year]. chance: the mean one of a loss at or above the limit, as the sentence counts it: with what remarks, rooms and
    the way those checked were chosen say; checked_first, above_limit: first checks of the kind.
    """
    learned, values = its.first.expectation, starting()
    fair = learned.chance[its.waiting["kind"].to_numpy().astype(int)]
    waiting = its.waiting.with_columns(chance=pl.Series(fair if its.interval is None else its.interval.chances))
    counted = waiting.group_by("kind").agg(c("chance").sum(), objects=pl.len(), weight=c("weight").sum())
    rows = counted.sort("kind").to_dicts()
    figures = [
        (
            values.kind[row["kind"]].label,
            row["objects"],
            int(learned.looked[row["kind"]]),
            int(learned.exceeding[row["kind"]]),
            row["chance"] / row["objects"],
            row["chance"],
            float(_mean_loss(its, row["kind"]) * row["weight"]),
        )
        for row in rows
    ]
    return pl.DataFrame(figures, schema=BY_KIND, orient="row").sort(
        "expected_objects", "kind", descending=[True, False]
    )


def _mean_loss(its: Expected, kind: int) -> float:
    learned, mine = its.first.expectation, its.waiting.filter(c("kind") == kind)
    never = learned.never(
        mine["kind"].to_numpy(), mine["room"].to_list(), mine["years"].to_numpy(), mine["odds"].to_numpy(),
        starting().chance_at_most,
    )  # fmt: skip
    return float(np.mean(never))


def sentence(triage: Triage, its: Expected) -> str:
    """*240 objects were never checked. Among the 400 others the first check found something at or above the limit in 14
    of 100 and an old repair in 32 of 100: expect about 29 such here; x % of the collection's value a year (a to b).*
    """
    if its.waiting.is_empty():
        return "Every object here has been checked."
    were = count(its.waiting.height, "object was", "objects were")
    used = its.first.used
    if its.interval is None:
        return f"{were} never checked. What is there is not known; check 30 drawn at random."
    above = round(100 * used.filter(c("loss") >= triage.rates.lines.treat_from).height / used.height)
    repaired = round(100 * _repaired(triage, used) / used.height)
    between = f"{percent(its.interval.low)} to {percent(its.interval.high).removeprefix('about ')}"
    return (
        f"{were} never checked. Among the {used.height:,} others the first check found something at or above the"
        f" museum's limit in {above} of 100 and an earlier repair in {repaired} of 100: expect"
        f" about {round(its.interval.objects_above):,} above the limit here;"
        f" {percent(its.interval.mean)} of the collection's value a year ({between.removeprefix('about ')})."
    )


def _repaired(triage: Triage, used: pl.DataFrame) -> int:
    """How many of the first checks saw an earlier repair."""
    lines = triage.collection["repair_state"].select("check_id", hazard=hazard_id(REPAIR, "repair_id"))
    return used.join(lines, on="check_id", how="semi").height


def selection_sentence(its: Expected) -> str:
    """Whether those checked first were chosen by chance, and what would tell."""
    if its.interval is None or its.first.fair:
        return ""
    how = next(way.label for way in terms("selection", Selection).values() if way.tilt == its.tilt)
    return (
        f"Those checked first were not chosen at random (as recorded: {how.lower()}), and the limits allow for that;"
        " thirty drawn at random would show it."
    )


def now_sentence(triage: Triage, chosen: pl.DataFrame) -> str:
    """How many of these the storeroom counts among what needs attention now; empty where none."""
    urgent = never_checked(chosen).filter(c("attention").is_in(triage.now)).height
    if not urgent:
        return ""
    needs = "needs" if urgent == 1 else "need"
    return f"{urgent} of them {needs} attention now by what is known without a check, and the storeroom counts it so."


def survey_number(day: date, used: set[str]) -> str:
    """A number for a survey that no survey has."""
    base = f"S{day:%Y%m%d}"
    return next(name for n in range(1, len(used) + 2) if (name := base if n == 1 else f"{base}-{n}") not in used)
