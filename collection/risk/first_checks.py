"""What each inspection found to be at stake, from its own lines alone: damage and repairs, before any treatment."""

from collections.abc import Mapping

import polars as pl

from collection.frames import returns
from collection.risk.extent import objects_here
from collection.risk.findings import checks_in_order, findings
from collection.risk.hazards import HELD, reached
from collection.risk.namespace import LazyFrames, in_memory
from collection.risk.quiet import inspected
from collection.risk.rates import RatesTable
from collection.risk.reach import with_log_kept
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

INSPECTED = pl.Schema(
    {"check_id": pl.String, "object_id": pl.String, "seen_on": pl.Date, "place_in_order": pl.Int64}
    | {"loss": pl.Float64, "representative": pl.Boolean, "arrival": pl.Boolean, "tilt": pl.String}
)
LOSSES = pl.Schema({"check_id": pl.String, "loss": pl.Float64})
c = pl.col


@returns(INSPECTED)
def losses_at_inspections(collection: Collection, checks: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Every inspection of an object that was taken up, with the yearly loss its own lines give, schema INSPECTED.

    loss [fraction of the object's value a year]: modifier 1, no moves, no quiet years. representative: its survey took
    all objects or drew them at random; tilt: how else it chose. Each check is reckoned as an object of its own.
    """
    close = vocabulary("visit").terms_where("reached")
    behind = vocabulary("visit").terms_where("on_display")
    seen = c("visit").is_in([t for t in close if t not in behind]).fill_null(value=True)
    dated = checks.filter(inspected() & seen & c("seen_on").is_not_null())
    losses = _losses(collection, dated, rates) if dated.height else pl.DataFrame(schema=LOSSES)
    joined = dated.lazy().join(losses.lazy(), on="check_id", how="left")
    chosen = joined.join(_selection(collection), on="check_id", how="left")
    arrivals = vocabulary("occasion").terms_where("arrival")
    marked = chosen.with_columns(
        c("loss").fill_null(0.0),
        c("representative").fill_null(value=False),
        arrival=c("occasion").is_in(arrivals).fill_null(value=False),
    )
    return marked.select(*INSPECTED).sort("place_in_order").collect(engine="in-memory")


def _losses(collection: Collection, checks: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Yearly loss that the lines of each check give, schema LOSSES; a check without a hazard has no row."""
    f = _as_objects(collection, checks, rates)
    placed = reached(findings(f, rates), f, rates, in_memory)
    rated = placed.with_columns(loss_rate=1 / c("years_likely"))
    rows = with_log_kept(rated, "loss_rate", "log_kept")
    parts = rows.group_by("object_id", "part").agg(c("part_share").max(), c("log_kept").sum())
    lost = parts.with_columns(expected_loss=c("part_share") * (1 - c("log_kept").exp()))
    summed = lost.group_by("object_id").agg(c("expected_loss").sum())
    return summed.select(check_id="object_id", loss="expected_loss").collect(engine="in-memory")


def _selection(collection: Collection) -> pl.LazyFrame:
    """check_id, representative, tilt of the checks of a survey that says how it chose."""
    terms = vocabulary("selection").term
    fair = {term: bool(its.get("representative")) for term, its in terms.items()}
    tilts = {term: its.get("tilt") for term, its in terms.items()}
    surveys = collection["survey"].lazy().filter(c("selection").is_not_null()).select(
        "survey_id",
        representative=c("selection").replace_strict(fair, default=False, return_dtype=pl.Boolean),
        tilt=c("selection").replace_strict(tilts, default=None, return_dtype=pl.String),
    )  # fmt: skip
    return collection["condition_check"].lazy().select("check_id", "survey_id").join(surveys, on="survey_id")


def _as_objects(collection: Collection, checks: pl.DataFrame, rates: RatesTable) -> LazyFrames:
    """The records as they would stand if each check were an object of its own, seen once."""
    each = checks.lazy().select("check_id", "object_id")
    areas = objects_here({"object": collection["object"].lazy()}, rates)
    objects = collection["object"].lazy().join(areas.select("object_id", area="object_area_mm2"), on="object_id")
    frames: dict[str, pl.LazyFrame] = {
        "object": _of_checks(objects, each).with_columns(enamel_area_mm2="area", location_id=pl.lit(None, pl.String)),
        "part": _of_checks(collection["part"].lazy(), each),
        "fragment": collection["fragment"].clear().lazy(),
        "condition_check": collection["condition_check"].lazy().join(each, on="check_id", how="semi")
        .with_columns(object_id="check_id", supersedes_check_id=pl.lit(None, pl.String)),
        "held": each.select(object_id="check_id").match_to_schema(HELD),
    }  # fmt: skip
    frames |= _lines(collection, "damage", "observation", "damage_id", each)
    frames |= _lines(collection, "repair", "repair_state", "repair_id", each)
    frames |= {name: frame.lazy() for name, frame in rates.tables().items()}
    return {**frames, "checks": in_memory(checks_in_order(frames))}


def _of_checks(rows: pl.LazyFrame, each: pl.LazyFrame) -> pl.LazyFrame:
    """Rows of an object once for each of its checks, under the number of the check."""
    return rows.join(each, on="object_id").with_columns(object_id="check_id").drop("check_id")


def _lines(collection: Collection, record: str, lines: str, key: str, each: pl.LazyFrame) -> Mapping[str, pl.LazyFrame]:
    """What a record and its lines were at each check: only what the check has a line for, nothing closed yet."""
    own = pl.format("{}@{}", key, "check_id")
    seen = collection[lines].lazy().join(each, on="check_id", how="semi")
    things = collection[record].lazy().drop("object_id").join(seen.select(key, "check_id"), on=key)
    opened = things.with_columns(
        object_id="check_id", closed_on=pl.lit(None, pl.Date), **{key: own}
    ).drop("check_id")  # fmt: skip
    return {record: opened, lines: seen.with_columns(**{key: own})}
