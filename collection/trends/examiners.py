"""Deterioration or examiners: one model of both, or the reason why the grades cannot tell them apart."""

from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
import polars as pl

from collection.risk.parameters import DAYS_A_YEAR
from collection.trends.fit import Fit, Layout, fit, headline
from collection.trends.likelihood import GRADED, Array, Histories
from collection.trends.parameters import Trends, trends

METHOD = "hidden decline with examiners' strictness and noise (maximum likelihood with weak priors)"
LINKS = pl.Schema({"examiner": pl.String, "grades": pl.UInt32, "objects": pl.UInt32, "shared": pl.UInt32})
HALF, LEAST_RATE = 0.5, 1e-3
c = pl.col


@dataclass(frozen=True)
class Figure:
    """A value with its limits."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Examiner:
    """strictness : grades by which the examiner grades worse than the yardstick. noise : how far one grading strays."""

    name: str
    strictness: Figure
    noise: Figure
    grades: int


@dataclass(frozen=True)
class Decline:
    """worse : share of objects a grade or more worse within `years`, with limits. rates [1/year] : out of each grade
    but the worst that was given, from `first_grade` on, null where there is too little to tell the steps apart. All is
    told in the yardstick's grades.
    """

    worse: Figure
    years: float
    yardstick: str
    examiners: tuple[Examiner, ...]
    rates: tuple[Figure | None, ...]
    grades: int
    objects: int
    log_likelihood: float
    first_grade: int = 0
    method: str = METHOD


@dataclass(frozen=True)
class Refused:
    """Why nothing is told."""

    reason: str


def examine(visits: pl.DataFrame, figures: Trends | None = None) -> Decline | Refused:
    """How much of the change of grades is decline, and how strict each examiner is; `visits`: schema VISITS.

    A grade beyond those that were given is none of the model: nothing says how soon an object comes to it.
    """
    figures = figures or trends()
    thorough = visits.filter(c("thorough"), c("grade").is_not_null())
    graded = _named(thorough, figures)
    links, yardstick = examiner_links(graded)
    reason = _too_little(graded, links, yardstick, figures)
    if reason:
        return Refused(reason)
    names = links["examiner"].to_list()
    first, worst = (int(end) for end in graded.select(low=c("grade").min(), high=c("grade").max()).row(0))
    given = graded.with_columns(c("grade") - first)
    histories = Histories.of(_numbered(given, names))
    layout = Layout(worst - first + 1, len(names), names.index(yardstick))
    fitted = fit(histories, layout, _start(given, layout, figures), figures)
    result = _decline(fitted, histories, links, yardstick, figures)
    return replace(result, first_grade=first) if isinstance(result, Decline) else result


def examiner_links(graded: pl.DataFrame) -> tuple[pl.DataFrame, str]:
    """Of each examiner grades, objects, and objects also graded by the yardstick (schema LINKS); and the yardstick:
    the examiner with most objects that others graded too.
    """
    each = graded.select("object_id", "examiner").unique()
    several = each.filter(pl.len().over("object_id") > 1)
    counted = several.group_by("examiner").len("n").sort("n", "examiner", descending=[True, False])
    totals = graded.group_by("examiner").agg(grades=pl.len(), objects=c("object_id").n_unique()).sort("examiner")
    yardstick = counted["examiner"].first() or totals.sort("grades", descending=True)["examiner"].first()
    of_yardstick = each.filter(c("examiner").eq(pl.lit(yardstick, pl.String))).select("object_id")
    shared = each.join(of_yardstick, on="object_id", how="semi").group_by("examiner").agg(shared=pl.len())
    joined = totals.join(shared, on="examiner", how="left", maintain_order="left").with_columns(
        c("shared").fill_null(0)
    )
    return joined.select(c(n).cast(t) for n, t in LINKS.items()), str(yardstick)


def _named(graded: pl.DataFrame, figures: Trends) -> pl.DataFrame:
    """Examiners by name with what they used, where they used more than one; those with few grades are one."""
    usual = ["look", "definitions_version"]
    mode = graded.group_by("examiner").agg(c(n).drop_nulls().mode().sort().first().alias(f"usual_{n}") for n in usual)
    joined = graded.join(mode, on="examiner", how="left", nulls_equal=True)
    extra = [pl.when(c(n).ne_missing(c(f"usual_{n}")) & c(n).is_not_null()).then(c(n)) for n in usual]
    name = pl.concat_str([c("examiner").fill_null(figures.others), *extra], separator=", ", ignore_nulls=True)
    named = joined.with_columns(examiner=name)
    few = pl.len().over("examiner") < figures.examiner_grades
    return named.with_columns(examiner=pl.when(few).then(pl.lit(figures.others)).otherwise("examiner"))


def _too_little(graded: pl.DataFrame, links: pl.DataFrame, yardstick: str, figures: Trends) -> str | None:
    """Why the model cannot be told, or null."""
    objects = graded["object_id"].n_unique()
    if graded.height and graded["grade"].n_unique() == 1:
        return "all grades are equal: nothing moved, or nobody graded it"
    if graded.height < figures.grades_fewest:
        return f"{graded.height:,} grades, {figures.grades_fewest:,} are needed"
    if graded.height < figures.grades_an_object * objects:
        return f"{graded.height / objects:.1f} grades an object on the mean, {figures.grades_an_object:g} are needed"
    if links.height == 1:
        return "one person graded all: strictness cannot be estimated"
    if graded.select("object_id", "examiner").unique().height == objects:
        return "each object was always graded by the same person: strictness cannot be estimated"
    loose = links.filter(c("examiner") != yardstick, c("shared") < figures.links)
    if loose.height:
        row = loose.row(0, named=True)
        return (
            f"{row['examiner']} and {yardstick} both graded {row['shared']} of the same objects, {figures.links} are"
            " needed to compare them"
        )
    return None


def _numbered(graded: pl.DataFrame, names: list[str]) -> pl.DataFrame:
    """Schema GRADED: a treatment ends a history."""
    numbers = {name: number for number, name in enumerate(names)}
    rows = graded.sort("object_id", "treated", "seen_on", maintain_order=True)
    return rows.select(
        history=pl.struct("object_id", "treated").rank("dense").cast(pl.Int64),
        years=c("seen_on").cast(pl.Int32) / DAYS_A_YEAR,
        examiner=c("examiner").replace_strict(numbers, return_dtype=pl.Int64),
        grade="grade",
    ).match_to_schema(GRADED)


def _start(graded: pl.DataFrame, layout: Layout, figures: Trends) -> Array:
    """Half the raw rates out of each grade, nobody strict, noise by its prior, the start as graded first."""
    ordered = graded.sort("object_id", "seen_on", maintain_order=True)
    following = {f"next_{n}": c(n).shift(-1).over("object_id", "treated") for n in ("grade", "seen_on")}
    moved = ordered.with_columns(**following).drop_nulls("next_grade")
    years = (c("next_seen_on") - c("seen_on")).dt.total_days() / DAYS_A_YEAR
    by_grade = moved.group_by("grade").agg(worse=(c("next_grade") > c("grade")).sum(), years=years.sum())
    raw = {int(g): float(r) for g, r in by_grade.select("grade", c("worse") / c("years").clip(HALF)).iter_rows()}
    steps = [max(raw.get(g, 0.0) * HALF, LEAST_RATE) for g in range(layout.grades - 1)]
    first = ordered.unique("object_id", keep="first", maintain_order=True)["grade"]
    shares = np.array([first.eq(g).sum() for g in range(layout.grades)], dtype=np.float64) + HALF
    others = [0.0] * (layout.examiners - 1)
    noise = [figures.log_noise_mean] * layout.examiners
    return np.concatenate([np.log(steps), others, noise, np.log(shares[:-1] / shares[-1])])


def _decline(
    fitted: Fit, histories: Histories, links: pl.DataFrame, yardstick: str, figures: Trends
) -> Decline | Refused:
    if fitted.covariance is None:
        return Refused("the grades say too little of one of the figures (flat second derivatives)")
    quantile = NormalDist().inv_cdf((1 + figures.limits) / 2)
    worse = Figure(*headline(fitted, histories, figures.years_ahead, quantile))
    if worse.high > figures.headline_within * worse.value or worse.low * figures.headline_within < worse.value:
        return Refused(f"limits of the headline are wider than a factor of {figures.headline_within:g} either way")
    spread = np.sqrt(np.diag(fitted.covariance))
    steps = fitted.layout.grades - 1
    rates = tuple(
        _around(r, s * quantile) if s <= figures.steps_within else None
        for r, s in zip(fitted.theta[:steps], spread[:steps], strict=True)
    )
    return Decline(
        worse, figures.years_ahead, yardstick, _people(fitted, spread * quantile, links), rates,
        sum(links["grades"].to_list()), len(histories.grade), fitted.log_likelihood,
    )  # fmt: skip


def _people(fitted: Fit, around: Array, links: pl.DataFrame) -> tuple[Examiner, ...]:
    """Strictness and noise of each examiner; `around`: half the width of the limits of each parameter."""
    _, strictness, log_noise, _ = fitted.layout.parts(fitted.theta)
    _, either, of_noise, _ = fitted.layout.parts(around)
    rows = zip(links["examiner"], links["grades"], strictness, either, log_noise, of_noise, strict=True)
    return tuple(
        Examiner(name, Figure(float(d), float(d - e), float(d + e)), _around(noise, wide), grades)
        for name, grades, d, e, noise, wide in rows
    )


def _around(logarithm: float, spread: float) -> Figure:
    low, value, high = (float(np.exp(logarithm + s)) for s in (-spread, 0.0, spread))
    return Figure(value, low, high)
