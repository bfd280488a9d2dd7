"""How long repairs last, by function and by material too: a curve where there is enough to draw one, else a rate."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from collection.frames import returns
from collection.questions.damage_over_time import RATES
from collection.questions.estimate import Estimate, estimate, refused
from collection.questions.triage import Triage
from collection.questions.words import count, two_figures
from collection.trends.grades import Rate
from collection.trends.parameters import trends
from collection.trends.repair_life import Curve, curve, failure_rate, half_sentence, lives
from collection.trends.visits import visits
from schemas.terms import RepairFunction
from schemas.vocabularies import terms, vocabulary

CURVES = pl.Schema(
    {"group": pl.String, "age_years": pl.Float64, "lasting": pl.Float64}
    | {"lasting_low": pl.Float64, "lasting_high": pl.Float64}
    | {"smooth": pl.Float64, "observed": pl.Int64}
)
LASTING = pl.Schema(
    {"group": pl.String, "watched": pl.Int64, "failures": pl.Int64, "years": pl.Float64}
    | dict.fromkeys(("rate", "rate_low", "rate_high"), pl.Float64)
    | {"words": pl.String}
)
CURVE_METHOD = "Turnbull's estimate"
PEOPLE_REMOVE = (
    "What was removed, lost or treated while it was sound counts up to its last check, since people remove what they"
    " distrust."
)
c = pl.col


@dataclass(frozen=True)
class Lasting:
    """Repairs of one function, or one material and function: the rate of failure, and a curve or why there is none."""

    name: str
    several: str
    repairs: int
    rate: Rate
    curve: Curve | str


def repairs_last(triage: Triage, chosen: pl.DataFrame) -> list[Lasting]:
    """Repairs of the chosen objects (rows of `Triage.objects`), by function, then by material as well."""
    figures = trends()
    rows = lives(triage.collection, visits(triage.collection, triage.risk.checks))
    mine = rows.join(chosen.select("object_id"), on="object_id", how="semi")
    by_function = [("", *key, its) for key, its in mine.partition_by("function", as_dict=True).items()]
    by_both = [(*key, its) for key, its in mine.partition_by("material", "function", as_dict=True).items()]
    return [
        Lasting(*_names(str(material), str(function)), its.height, failure_rate(its, figures), curve(its, figures))
        for groups in (by_function, by_both)
        for material, function, its in sorted(groups, key=lambda group: (-group[2].height, *group[:2]))
    ]


def _names(material: str, function: str) -> tuple[str, str]:
    """*Fill, wax* and *fills (wax)*; *Every fill* and *fills* of all materials."""
    use = terms("repair_function", RepairFunction).get(function)
    noun = use.noun if use else function
    several = use.plural if use and use.plural else f"{noun}s"
    if not material:
        return f"Every {noun}", several
    label = vocabulary("repair_material").labels().get(material, material)
    label = f"{label[:1].lower()}{label[1:]}"
    return f"{noun.capitalize()}, {label}", f"{several} ({label})"


def sentences(its: list[Lasting]) -> list[str]:
    """One sentence a group with a curve; for the others that they have a rate only."""
    if not its:
        return ["No repair that held when it was first assessed was assessed again."]
    drawn = [half_sentence(one.curve, one.several) for one in its if isinstance(one.curve, Curve)]
    rest = sum(isinstance(one.curve, str) for one in its)
    figures = trends()
    needed = f"{figures.repairs_fewest} repairs with a date of making and {figures.failures_fewest} failures"
    some, none = f"{count(rest, 'other group')} of repairs have", f"None of {count(rest, 'group')} of repairs has"
    more = (
        f"{f'{some} no' if drawn else f'{none} a'} curve: {needed}, watched from the start, are needed;"
        " only the rate is given."
    )
    return [*drawn, *([more] if rest else [])]


@returns(CURVES)
def curves(its: list[Lasting]) -> pl.DataFrame:
    """Share that lasts at each age with its band and how many were under observation, schema CURVES.

    lasting is empty where the data do not say; smooth is the Weibull curve on the same intervals.
    """
    frames = [
        _curve_rows(one.curve).with_columns(group=pl.lit(one.name)) for one in its if isinstance(one.curve, Curve)
    ]
    return pl.concat([pl.DataFrame(schema=CURVES), *(frame.select(*CURVES) for frame in frames)])


def _curve_rows(its: Curve) -> pl.DataFrame:
    """The curve at whole years, as far as it can be said."""
    columns = {
        "age_years": its.years, "lasting": its.lasting, "lasting_low": its.low, "lasting_high": its.high,
        "smooth": its.weibull.lasting(its.years), "observed": its.observed.astype(np.int64),
    }  # fmt: skip
    return pl.DataFrame(columns).filter(c("age_years") <= its.ends).with_columns(c("lasting").fill_nan(None))


@returns(RATES)
def failure_rates(its: list[Lasting]) -> pl.DataFrame:
    """Failures per 100 repair-years of the groups that were watched, schema RATES of `damage_over_time`."""
    rows = [
        ("failure", one.name, one.rate.events, one.rate.years, one.repairs, one.rate.value, one.rate.low, one.rate.high)
        for one in its
        if one.rate.refused is None
    ]
    return pl.DataFrame(rows, schema=RATES, orient="row")


@returns(LASTING)
def lasting(its: list[Lasting]) -> pl.DataFrame:
    """Failures per 100 repair-years of each group with limits, and what is told of it, schema LASTING."""
    rows = [
        (
            one.name,
            one.repairs,
            one.rate.events,
            one.rate.years,
            one.rate.value,
            one.rate.low,
            one.rate.high,
            _words(one),
        )
        for one in its
    ]
    return pl.DataFrame(rows, schema=LASTING, orient="row")


def _words(one: Lasting) -> str:
    if isinstance(one.curve, Curve):
        return half_sentence(one.curve, one.several)
    if one.rate.value is None or one.rate.low is None or one.rate.high is None:
        return str(one.rate.refused)
    value, low, high = (two_figures(x) for x in (one.rate.value, one.rate.low, one.rate.high))
    return f"{value} failures per 100 repair-years ({low} to {high}); no curve: {one.curve}"


def estimates_of(its: list[Lasting]) -> list[dict[str, object]]:
    """Every group for programs: the rate, and the share that lasts at each whole year up to where it can be said."""
    return [{"repairs": one.name, "rate": _rate(one.rate), "curve": _curve(one.curve)} for one in its]


def _rate(rate: Rate) -> Estimate:
    if rate.refused:
        return refused(rate.refused, rate.events, rate.method)
    return estimate(rate.value, rate.low, rate.high, rate.events, rate.method)


def _curve(its: Curve | str) -> object:
    if isinstance(its, str):
        return refused(its, method=CURVE_METHOD)
    points = zip(its.years, its.lasting, its.low, its.high, its.observed, strict=True)
    return [
        {"years": float(y), **estimate(float(v), float(lo), float(hi), int(n), its.method)}
        for y, v, lo, hi, n in points
        if y <= its.ends
    ]
