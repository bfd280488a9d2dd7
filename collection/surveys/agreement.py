"""Whether examiners agree: objects that two people or more graded within some days, who gave which grade, how alike.

How alike: Krippendorff's alpha with missing cells, weighted kappa for two, and where they differ.
"""

from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.learning.inspected_lines import day_number

Array = npt.NDArray[np.float64]
NOMINAL, ORDINAL, INTERVAL = "nominal", "ordinal", "interval"
LINEAR, QUADRATIC = 1, 2  # powers of the distance between two grades
# Grades of one object by people who checked it within the days: nth of the occasion, grade 0 the best.
GRADED = pl.Schema(
    dict.fromkeys(("occasion", "object_id", "check_id", "examiner"), pl.String)
    | {"seen_on": pl.Date, "grade": pl.Int64}
)
# Two people: objects that both graded, those they graded alike, and weighted kappa (linear), null where too few.
BY_TWO = pl.Schema(
    {"first": pl.String, "second": pl.String, "objects": pl.Int64, "alike": pl.Int64, "kappa": pl.Float64}
)
# Where they differ: by how many grades, and who gave which.
DIFFERENCES = pl.Schema(
    {"object_id": pl.String(), "apart": pl.Int64(), "gave": pl.List(pl.String), "seen_on": pl.Date()}
)
SEED = 1  # the same limits each time
c = pl.col


def alpha(grades: Array, categories: int, level: str = ORDINAL) -> float:
    """Krippendorff's alpha (Content Analysis, 2004): 1 agreement, 0 as by chance; not a number where it is not defined.

    grades : examiner x object, 0 to categories - 1, not a number where somebody did not grade.
    """
    pairs = _coincidences(grades, categories)
    n_c = pairs.sum(axis=1)
    n = n_c.sum()
    distance = _distance(n_c, level)
    expected = float((np.outer(n_c, n_c) * distance).sum())
    if n < 2 or not expected:
        return float("nan")
    return float(1 - (n - 1) * (pairs * distance).sum() / expected)


def _coincidences(grades: Array, categories: int) -> Array:
    """How often two grades were given to one object, each object weighed by how many graded it."""
    counts = np.stack([(grades == k).sum(axis=0) for k in range(categories)], axis=1).astype(np.float64)
    graded = counts.sum(axis=1)
    paired = counts[graded > 1] / np.sqrt(graded[graded > 1] - 1)[:, None]
    own = (counts[graded > 1] / (graded[graded > 1] - 1)[:, None]).sum(axis=0)
    return np.asarray(paired.T @ paired - np.diag(own))


def _distance(n_c: Array, level: str) -> Array:
    """Squared distance of two grades: 1, by how many lie between them, or of their numbers."""
    ranks = np.arange(n_c.size, dtype=np.float64)
    if level == NOMINAL:
        return np.asarray(ranks[:, None] != ranks[None, :], dtype=np.float64)
    if level == ORDINAL:
        ranks = np.cumsum(n_c) - n_c / 2
    return np.asarray((ranks[:, None] - ranks[None, :]) ** 2)


def weighted_kappa(table: Array, weights: Array) -> float:
    """Cohen's kappa (1968) of a table of numbers or shares, with weights of disagreement, 0 on the diagonal."""
    p = table / table.sum()
    chance = np.outer(p.sum(axis=1), p.sum(axis=0))
    expected = float((weights * chance).sum())
    return float(1 - (weights * p).sum() / expected) if expected else float("nan")


def kappa_weights(categories: int, power: int) -> Array:
    """Disagreement by the distance of two grades; power 0: any other grade counts alike."""
    distance = np.abs(np.subtract.outer(np.arange(categories), np.arange(categories))).astype(np.float64)
    return np.asarray(distance > 0, dtype=np.float64) if power == 0 else distance**power


def table_of(first: npt.ArrayLike, second: npt.ArrayLike, categories: int) -> Array:
    """How often one gave a grade (row) and the other one (column); all grades of the scale, used or not."""
    table = np.zeros((categories, categories))
    np.add.at(table, (np.asarray(first), np.asarray(second)), 1)
    return table


@dataclass(frozen=True)
class Agreement:
    """alpha : Krippendorff's, ordinal, with limits; null with the reason in `refused`.

    objects : that two or more graded.
    """

    alpha: float | None
    low: float | None
    high: float | None
    objects: int
    examiners: int
    refused: str | None


@returns(GRADED)
def graded_together(visits: pl.DataFrame, within_days: float) -> pl.DataFrame:
    """Grades given to one object by two people or more within so many days, no treatment between, schema GRADED.

    visits : schema VISITS of `collection.trends.visits`. An occasion begins with the first grade and takes in what
    follows within the days; of one person in it the last grade counts.
    """
    known = visits.drop_nulls(["grade", "examiner"]).sort("object_id", "seen_on", "check_id")
    days = day_number("seen_on")
    new = (c("object_id") != c("object_id").shift(1)) | (days - days.shift(1) > within_days)
    new = new | (c("treated") != c("treated").shift(1))
    runs = known.with_columns(run=new.fill_null(value=True).cum_sum(), day=days)
    near = runs.filter(c("day") - c("day").min().over("run") <= within_days)
    last = near.unique(["run", "examiner"], keep="last", maintain_order=True)
    several = last.filter(pl.len().over("run") > 1)
    named = several.with_columns(occasion=pl.format("{} {}", "object_id", c("seen_on").min().over("run")))
    return named.select(*GRADED).sort("occasion", "examiner")


def agreement(graded: pl.DataFrame, categories: int, fewest: int, resamples: int, chance: float) -> Agreement:
    """Krippendorff's alpha (2004), ordinal, missing cells allowed; refused below `fewest` objects. graded : GRADED.

    Limits hold `chance`: of so many samples of the occasions, drawn with replacement (Efron 1979).
    """
    objects, people = graded["object_id"].n_unique(), graded["examiner"].n_unique()
    none = partial(Agreement, None, None, None, objects, people)
    if objects < fewest:
        return none(f"fewer than {fewest} objects were graded by two people")
    wide = graded.pivot("occasion", index="examiner", values="grade", aggregate_function="last")
    cells = wide.drop("examiner").cast(pl.Float64).fill_null(float("nan")).to_numpy()
    value = alpha(cells, categories)
    if np.isnan(value):
        return none("all grades are the same")
    random = np.random.default_rng(SEED)
    drawn = [alpha(cells[:, random.integers(0, cells.shape[1], cells.shape[1])], categories) for _ in range(resamples)]
    low, high = np.nanquantile(drawn, [(1 - chance) / 2, (1 + chance) / 2])
    return Agreement(value, float(low), float(high), objects, people, None)


@returns(BY_TWO)
def by_two(graded: pl.DataFrame, categories: int, fewest: int) -> pl.DataFrame:
    """Each two people with the objects both graded, schema BY_TWO; most first. graded : schema GRADED."""
    both = graded.join(graded, on="occasion", suffix="_2").filter(c("examiner") < c("examiner_2"))
    rows = []
    for (first, second), its in both.group_by("examiner", "examiner_2"):
        table = table_of(its["grade"], its["grade_2"], categories)
        kappa = weighted_kappa(table, kappa_weights(categories, LINEAR)) if its.height >= fewest else float("nan")
        alike = int((its["grade"] == its["grade_2"]).sum())
        rows.append((first, second, its.height, alike, None if np.isnan(kappa) else kappa))
    return pl.DataFrame(rows, schema=BY_TWO, orient="row").sort(
        "objects", "first", "second", descending=[True, False, False]
    )


@returns(DIFFERENCES)
def differences(graded: pl.DataFrame, labels: list[str]) -> pl.DataFrame:
    """Objects on which people differ, by how far, widest first, schema DIFFERENCES. labels : of grades, best first."""
    words = c("grade").replace_strict(dict(enumerate(labels)), return_dtype=pl.String)
    named = graded.with_columns(gave=pl.format("{}: {}", "examiner", words))
    each = named.group_by("occasion").agg(
        c("object_id").first(), apart=c("grade").max() - c("grade").min(), gave=c("gave"), seen_on=c("seen_on").min()
    )
    ordered = each.filter(c("apart") > 0).sort("apart", "object_id", "seen_on", descending=[True, False, False])
    return ordered.select(*DIFFERENCES)
