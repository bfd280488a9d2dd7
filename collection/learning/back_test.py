"""Back-test: what the register forecast on a day, from what it knew then, beside what its checks saw afterwards."""

from calendar import monthrange
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date

import polars as pl

from collection.as_of import as_known
from collection.frames import returns
from collection.learning.expected_losses import AT_RISK, Expected, expected_losses
from collection.learning.histories import at_rest, histories
from collection.learning.inspected_lines import inspected_lines
from collection.learning.learned import LOSS, learned_losses, starting
from collection.learning.parameters import learning
from collection.learning.scores import Score, calibration, scored
from collection.learning.seen_losses import closed_between, seen_losses, seen_total, spans
from collection.risk.inspections import inspections
from collection.risk.object_risk import Risk
from collection.risk.parameters import DAYS_A_YEAR
from collection.risk.rate_rows import DAMAGE, LEARNED, REPAIR, YEARS
from collection.risk.rates import RatesTable
from collection.snapshot import Collection

FORECASTS = pl.Schema(
    {"hazard_id": pl.String, "object_id": pl.String, "cell": pl.String, "starts_on": pl.Date, "ends_on": pl.Date}
    | {"exposure_years": pl.Float64, "loss_event": pl.Boolean, "chance": pl.Float64, "reference": pl.Float64}
)
STARTING = "starting"
Assess = Callable[[Collection, RatesTable], Risk]
c = pl.col


@dataclass(frozen=True)
class Judged:
    """One way to take the rates: its forecasts (schema FORECASTS), score, calibration, and what it expected lost."""

    forecasts: pl.DataFrame
    score: Score
    calibration: pl.DataFrame
    expected: Expected


@dataclass(frozen=True)
class BackTest:
    """`judged`: by starting values alone, and by what was learned before the cut.

    learned : schema LEARNED, before the cut. base_rate [1/year]: events over years before it, all damage and repairs
    together. seen_loss [share of the collection's value] in so many `objects` looked at before and after; `unmeasured`
    places in which something happened and nobody wrote how much.
    """

    cut: date
    until: date
    judged: Mapping[str, Judged]
    learned: pl.DataFrame
    base_rate: float | None
    seen_loss: float
    objects: int
    unmeasured: int


def back_test(whole: Collection, cut: date, until: date, assess: Assess) -> BackTest:
    """Test the rates on the years from `cut` to `until`.

    Parameters
    ----------
    whole : not cut to a day. assess : risk of a collection cut to a day; it must know no climate after that day.
    """
    known, later = as_known(whole, cut), as_known(whole, until)
    rates, before, after = starting(known), inspections(known), inspections(later)
    intervals = histories(known, before, rates)
    learned = learned_losses(intervals, rates)
    base = _base_rate(intervals)
    window = _window(histories(later, after, rates), cut)
    of_objects = spans(after, cut)
    tables = {STARTING: rates, LEARNED: RatesTable.of(with_learned(known, learned))}
    gone = closed_between(later, of_objects)
    risks = {name: assess(known, table) for name, table in tables.items()}
    judged = {n: _judge(risks[n], table, window, base or 0.0, of_objects, gone) for n, table in tables.items()}
    seen = seen_losses(later, inspected_lines(later, after, rates), of_objects, rates)
    worth = risks[STARTING].objects.select("object_id", "value_share")
    lost, unmeasured = seen_total(seen, worth), int(seen["unmeasured"].sum())
    return BackTest(cut, until, judged, learned, base, lost, of_objects.height, unmeasured)


def with_learned(collection: Collection, learned: pl.DataFrame) -> Collection:
    """The collection as if the museum had chosen every learned rate, and nothing else of its own."""
    table, term, state = (c("cell").str.split("/").list.get(place) for place in range(len(CELL)))
    rows = learned.select(
        *YEARS, "spread", rate_table=table, term=term, state=state, chosen=pl.lit(LEARNED), basis=pl.lit(LEARNED)
    )
    filled = Collection.of({"own_rate": rows}).frames["own_rate"]
    return replace(collection, frames={**collection.frames, "own_rate": filled})


CELL = ("rate_table", "term", "state")


def _base_rate(intervals: pl.DataFrame) -> float | None:
    still = at_rest(intervals, LOSS)
    years = float(still["exposure_years"].sum())
    return float(still[LOSS].sum()) / years if years else None


def _window(intervals: pl.DataFrame, cut: date) -> pl.DataFrame:
    """The interval of each damage and repair that the cut falls into: from its last check to its next."""
    return at_rest(intervals, LOSS).filter(c("starts_on") <= cut, c("ends_on") > cut)


def _judge(
    risk: Risk, rates: RatesTable, window: pl.DataFrame, base: float, of_objects: pl.DataFrame, gone: pl.DataFrame
) -> Judged:
    figures, forecast = learning(), forecasts(risk, rates, window, base)
    chance, outcome, reference = (forecast[n].cast(pl.Float64).to_numpy() for n in ("chance", LOSS, "reference"))
    score = scored(forecast["object_id"], chance, outcome, reference, figures, rates.lines.fewest_expected_events)
    rows = at_risk(risk, of_objects, gone)
    expected = expected_losses(rows, figures, rates.lines.common_share, rates.range_per_move)
    return Judged(forecast, score, calibration(chance, outcome, figures), expected)


@returns(FORECASTS)
def forecasts(risk: Risk, rates: RatesTable, window: pl.DataFrame, base_rate: float) -> pl.DataFrame:
    """Chance of a loss at rest of each damage and repair over its own interval, schema FORECASTS.

    1 - exp(-rate x years), the rate being the mean of its range, with the quiet years and the climate as they were
    known; reference: the same with the base rate [1/year] for all.
    """
    means = rates.rows.select("rate_row", "mean_rate")
    hazards = risk.hazards.join(means, on="rate_row").unique("hazard_id", keep="first", maintain_order=True)
    rate = hazards.select("hazard_id", rate=c("mean_rate") * c("quiet_factor") * c("modifier"))
    joined = window.join(rate, on="hazard_id").with_columns(
        chance=1 - (-c("rate") * c("exposure_years")).exp(),
        reference=1 - (-base_rate * c("exposure_years")).exp(),
    )
    return joined.select(*FORECASTS).sort("hazard_id")


@returns(AT_RISK)
def at_risk(risk: Risk, of_objects: pl.DataFrame, gone: pl.DataFrame) -> pl.DataFrame:
    """Hazards of objects with a span (schema SPANS), without those in `gone`; schema AT_RISK of `expected_losses`."""
    years = (c("ends_on") - c("starts_on")).dt.total_days() / DAYS_A_YEAR
    spanned = of_objects.select("object_id", years=years)
    worth = risk.objects.select("object_id", "value_share")
    rows = risk.hazards.filter(c("source").is_in([DAMAGE, REPAIR])).join(gone, on="hazard_id", how="anti")
    joined = rows.join(spanned, on="object_id").join(worth, on="object_id")
    named = joined.with_columns(cell=c("rate_row").cast(pl.String), factor=c("modifier") * c("quiet_factor"))
    return named.select(*AT_RISK).sort("object_id", "part", "hazard_id")


def later_day(day: date, years: int) -> date:
    """The same day so many years on."""
    month = date(day.year + years, day.month, 1)
    return month.replace(day=min(day.day, monthrange(month.year, month.month)[1]))
