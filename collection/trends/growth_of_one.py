"""Growth of one damage: its size against time with the error of each measurement, and whether it grew or seemed to.

The error s of a measurement is that written with it, else what the house's repeated measurements show, else an assumed
share of the size. Less than 1.96 x sqrt(2) x s is no change detected (Bland and Altman, BMJ 313 (1996) 744); growth is
told by the rule of `collection.learning.growth`, from the size at the last event. After another kind of check, other
definitions or a treatment a new series begins: more may have been found by looking harder.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl
from scipy.stats import t as student

from collection.frames import returns
from collection.learning.growth import growth_events
from collection.learning.limits import normal_deviate
from collection.risk.parameters import DAYS_A_YEAR, Lines
from collection.snapshot import Collection
from collection.trends.parameters import Trends
from schemas.vocabularies import vocabulary

SIZES = ("length_mm", "area_mm2", "count")
AS_WRITTEN, REPEATED, ASSUMED = "as written", "repeated measurements", "assumed"
FIRST, SAME, LARGER, PERHAPS, GROWN, SMALLER, HARDER, LESS_CLOSELY, OTHERWISE, TREATED = SAYINGS = (
    "first measurement", "no change detected", "larger, but not yet growth", "perhaps grown", "grown",
    "smaller: measured otherwise", "looked more closely", "looked less closely", "measured by other definitions",
    "after a treatment",
)  # fmt: skip
MEASURED = pl.Schema(
    dict.fromkeys(("damage_id", "check_id", "examiner", "look", "definitions_version", "unit"), pl.String)
    | {"seen_on": pl.Date, "treated": pl.Int64, "measured": pl.Float64, "error": pl.Float64, "grown": pl.Boolean}
    | {"blind": pl.Boolean}
)
GROWTH = pl.Schema(
    {"seen_on": pl.Date, "check_id": pl.String, "unit": pl.String, "size": pl.Float64, "low": pl.Float64}
    | {"high": pl.Float64, "error": pl.Float64, "error_from": pl.String, "series": pl.Int64}
    | {"change": pl.Float64, "detectable": pl.Float64, "what": pl.String, "grown_after": pl.Date, "grown_by": pl.Date}
)
c = pl.col


@dataclass(frozen=True)
class Repeatability:
    """share : standard error of one measurement as a share of the size, null where nothing was measured twice;
    pairs : how many items were measured twice.
    """

    share: float | None
    pairs: int


@dataclass(frozen=True)
class Line:
    """Growth a year with limits in `unit`; the size at the first measurement of the series."""

    slope: float
    low: float
    high: float
    unit: str
    measurements: int
    chance: float
    method: str = "straight line through the measurements (least squares), limits by Student's t"


def within_error(differences: npt.NDArray[np.float64]) -> float:
    """Standard error of one measurement from m items measured twice: the root of the sum of d²/2m."""
    return float(np.sqrt((np.asarray(differences, dtype=np.float64) ** 2).sum() / (2 * len(differences))))


def least_detectable(error: float, chance: float) -> float:
    """The least difference of two measurements that is more than error; 21.46 at 0.95: 59.48 (2.7719 x s)."""
    return float(normal_deviate(chance) * np.sqrt(2) * error)


@returns(MEASURED)
def measurements(collection: Collection, rows: pl.DataFrame) -> pl.DataFrame:
    """What thorough checks measured of each damage, in order, schema MEASURED; `rows`: schema VISITS.

    Length, else area, else number; blind : the examiner is known not to have had the check before at hand.
    """
    grown, silent = vocabulary("change").terms_where("grown"), vocabulary("change").terms_where("says_nothing")
    sizes = [pl.when(c(n).is_not_null()).then(pl.struct(unit=pl.lit(n), measured=c(n).cast(pl.Float64))) for n in SIZES]
    lines = collection["observation"].filter(~c("change").is_in(silent).fill_null(value=False))
    sized = lines.select(
        "damage_id", "check_id", pl.coalesce(sizes).alias("as_measured"), error="measurement_error",
        grown=c("change").is_in(grown).fill_null(value=False),
    ).unnest("as_measured")  # fmt: skip
    seen = collection["condition_check"].select("check_id", blind=~c("saw_previous"))
    thorough = rows.filter("thorough").with_row_index("place").join(seen, on="check_id", how="left")
    joined = sized.filter(c("measured").is_not_null()).join(thorough, on="check_id")
    return joined.sort("damage_id", "seen_on", "place").select(*MEASURED)


def repeatability(lines: pl.DataFrame, figures: Trends) -> Repeatability:
    """What measuring one damage twice on one day, the second time blind, has shown; `lines`: schema MEASURED.

    Differences are taken of logarithms, since the error of a size goes with the size; fewer pairs than asked say
    nothing.
    """
    keys = ["damage_id", "unit", "seen_on"]
    before = lines.with_columns(before=c("measured").shift(1).over(keys))
    both = before.filter(c("before") > 0, c("measured") > 0, c("blind").fill_null(value=False))
    if both.height < figures.repeats_fewest:
        return Repeatability(None, both.height)
    return Repeatability(within_error((both["measured"] / both["before"]).log().to_numpy()), both.height)


@returns(GROWTH)
def growth_of_one(
    lines: pl.DataFrame, repeated: Repeatability, limits: Lines, figures: Trends, assumed: float
) -> pl.DataFrame:
    """Each measurement of one damage with its limits and what it says, in order, schema GROWTH.

    Parameters
    ----------
    lines : its measurements in order, schema MEASURED, sizes in `unit`. repeated : what measuring twice has shown.
    limits : lines of growth. assumed : standard error of a measurement of which nothing is known, as a share of it.

    Returns
    -------
    low, high : the size with its 95 % limits. change : since the reference, the size at the last event or the first of
    the series; detectable : the least change that is more than error. grown_after, grown_by : between which checks it
    grew, where it did. An error of 0 counts as not known.
    """
    named = _with_series(_with_error(lines, repeated, assumed))
    events = growth_events(named.select("unit", "measured", "grown", "series", error="s"), limits, assumed)
    compared = _with_reference(named.with_columns(event=events))
    judged = _judged(compared, limits, figures)
    z = normal_deviate(figures.limits)
    sized = judged.with_columns(
        size="measured", error="s", low=(c("measured") - z * c("s")).clip(0), high=c("measured") + z * c("s")
    )
    return sized.select(c(n).cast(t) for n, t in GROWTH.items())


def _with_error(lines: pl.DataFrame, repeated: Repeatability, assumed: float) -> pl.DataFrame:
    """Adds s and error_from."""
    written = c("error") > 0
    share, source = (assumed, ASSUMED) if repeated.share is None else (repeated.share, REPEATED)
    return lines.with_columns(
        s=pl.when(written).then("error").otherwise(c("measured") * share),
        error_from=pl.when(written).then(pl.lit(AS_WRITTEN)).otherwise(pl.lit(source)),
    )


def _with_series(lines: pl.DataFrame) -> pl.DataFrame:
    """Adds series, and why each begins: by other definitions or in another unit a series begins as well."""
    depth = {look: place for place, look in enumerate(vocabulary("look").term)}
    deep = c("look").replace_strict(depth, default=None, return_dtype=pl.Int64)
    numbered = lines.with_row_index("nth").with_columns(deep=deep)
    otherwise = pl.any_horizontal(c(n).ne_missing(c(n).shift(1)) for n in ("look", "definitions_version", "unit"))
    begins = (
        pl.when(c("nth") == 0).then(pl.lit(FIRST))
        .when(c("treated") != c("treated").shift(1)).then(pl.lit(TREATED))
        .when(c("deep") > c("deep").shift(1)).then(pl.lit(HARDER))
        .when(c("deep") < c("deep").shift(1)).then(pl.lit(LESS_CLOSELY))
        .when(otherwise).then(pl.lit(OTHERWISE))
    )  # fmt: skip
    named = numbered.with_columns(begins=begins)
    return named.with_columns(series=(c("begins").is_not_null() & (c("nth") > 0)).cum_sum().cast(pl.Int64))


def _with_reference(lines: pl.DataFrame) -> pl.DataFrame:
    """Adds change since the reference and the error of a difference from it."""
    run = (c("begins").is_not_null() | c("event")).cum_sum()
    runs = lines.with_columns(run=run, before=run - c("event").cast(pl.UInt32))
    anchors = runs.unique("run", keep="first", maintain_order=True).select(
        before="run", reference="measured", reference_s="s"
    )
    joined = runs.join(anchors, on="before", how="left", maintain_order="left")
    pooled = ((c("s") ** 2 + c("reference_s") ** 2) / 2).sqrt()
    change = pl.when(c("begins").is_null()).then(c("measured") - c("reference"))
    return joined.with_columns(change=change, pooled=pooled)


def _judged(lines: pl.DataFrame, limits: Lines, figures: Trends) -> pl.DataFrame:
    """Adds what, detectable, grown_after, grown_by."""
    least = normal_deviate(figures.limits) * np.sqrt(2) * c("pooled")
    over = (c("change") > limits.growth_twice_beyond * c("pooled")).fill_null(value=False)
    what = (
        pl.when(c("begins").is_not_null()).then("begins")
        .when("event").then(pl.lit(GROWN))
        .when(over).then(pl.lit(PERHAPS))
        .when(c("change") > least).then(pl.lit(LARGER))
        .when(c("change") < -least).then(pl.lit(SMALLER))
        .otherwise(pl.lit(SAME))
    )  # fmt: skip
    named = lines.with_columns(what=what, detectable=pl.when(c("begins").is_null()).then(least))
    twice = c("what").shift(1) == PERHAPS  # the growth was seen at the check before this
    after = pl.when(twice).then(c("seen_on").shift(2)).otherwise(c("seen_on").shift(1))
    by = pl.when(twice).then(c("seen_on").shift(1)).otherwise("seen_on")
    return named.with_columns(
        grown_after=pl.when(c("what") == GROWN).then(after), grown_by=pl.when(c("what") == GROWN).then(by)
    )


def straight_line(growth: pl.DataFrame, figures: Trends) -> Line | str:
    """Growth a year by the measurements of the last series, or why it is not said; `growth`: schema GROWTH."""
    last = growth.filter(c("series") == c("series").max())
    if last.height < figures.line_fewest:
        measured = "measurement" if last.height == 1 else "measurements"
        return f"{last.height} comparable {measured}, {figures.line_fewest} are needed for a straight line"
    years = (last["seen_on"] - last["seen_on"][0]).dt.total_days().to_numpy() / DAYS_A_YEAR
    size = last["size"].to_numpy()
    spread = ((years - years.mean()) ** 2).sum()
    if not spread:
        return "all comparable measurements are of one day"
    slope = float(((years - years.mean()) * size).sum() / spread)
    left = size - size.mean() - slope * (years - years.mean())
    error = np.sqrt((left**2).sum() / (last.height - 2) / spread)
    wide = float(student.ppf((1 + figures.rate_limits) / 2, last.height - 2) * error)
    return Line(slope, slope - wide, slope + wide, last["unit"][0], last.height, figures.rate_limits)
