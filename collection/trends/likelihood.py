"""Likelihood of histories of grades under a decline that nobody sees and gradings that stray, with its gradient.

Forward sums: a = pi E(., g1); a = (a P(t)) E(., g) at each further grading, scaled at each step (Baum and others 1970).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.trends.hidden_grades import chances, chances_slopes

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
FLOOR = 1e-20  # least chance of what was written, so that a search that strays comes back
GRADED = pl.Schema({"history": pl.Int64, "years": pl.Float64, "examiner": pl.Int64, "grade": pl.Int64})


@dataclass(frozen=True)
class Histories:
    """Gradings side by side: row history, column the nth; -1 where there is none.

    gap : number of the distinct time since the one before. years : the distinct times. entered : the last grade is the
    true one, entered on that very day. first_is_true : the first grade is the true one.
    """

    examiner: Ints
    grade: Ints
    gap: Ints
    years: Array
    first_is_true: bool = False
    entered: npt.NDArray[np.bool_] | None = None

    @classmethod
    def of(
        cls, graded: pl.DataFrame, *, first_is_true: bool = False, entered: frozenset[int] = frozenset()
    ) -> "Histories":
        """From rows of schema GRADED, each history in the order of time; `entered`: numbers of histories."""
        c = pl.col
        rows = graded.sort("history", "years", maintain_order=True).with_columns(
            row=c("history").rank("dense").cast(pl.Int64) - 1,
            nth=pl.int_range(pl.len()).over("history"),
            since=(c("years") - c("years").shift(1).over("history")).fill_null(0.0),
        )
        distinct, gap = np.unique(rows["since"].to_numpy(), return_inverse=True)
        shape = (rows["row"].n_unique(), int(rows["nth"].max() or 0) + 1)  # type: ignore[arg-type]
        at = (rows["row"].to_numpy(), rows["nth"].to_numpy())

        def placed(values: Ints) -> Ints:
            table = np.full(shape, -1, dtype=np.int64)
            table[at] = values
            return table

        numbers = graded["history"].unique().sort().to_list()
        marks = np.array([n in entered for n in numbers])
        examiner, grade = (placed(rows[name].to_numpy()) for name in ("examiner", "grade"))
        return cls(examiner, grade, placed(gap.ravel()), distinct, first_is_true, marks if entered else None)


@dataclass(frozen=True)
class Model:
    """start : share of each true grade at the first grading. rates [1/year] : out of each grade but the worst.
    written : examiner x true x written grade.
    """

    start: Array
    rates: Array
    written: Array


@dataclass(frozen=True)
class Slopes:
    """Derivatives of the log likelihood by start, by ln of each rate, and by each chance of `written`."""

    start: Array
    log_rates: Array
    written: Array


def log_likelihood(histories: Histories, model: Model) -> tuple[float, Slopes, Array]:
    """The logarithm of the likelihood, its slopes, and of each history the chances of its true grade at the end."""
    forward, scales, steps, moves = _forward(histories, model)
    back = np.ones_like(forward[0])
    start, by_written = np.zeros(model.start.size), np.zeros_like(model.written)
    by_chance = np.zeros_like(moves)
    for nth in range(len(forward) - 1, -1, -1):
        here, seen = histories.grade[:, nth] >= 0, steps[nth]
        its = back[here] / scales[nth][here][:, None]
        before = (
            model.start[None, :]
            if nth == 0
            else np.einsum("hi,hij->hj", forward[nth - 1][here], moves[histories.gap[here, nth]])
        )
        _add_written(by_written, histories, nth, here, before * its)
        weighted = seen[here] * its
        if nth == 0:
            start += weighted.sum(axis=0)
            continue
        np.add.at(by_chance, histories.gap[here, nth], forward[nth - 1][here][:, :, None] * weighted[:, None, :])
        back[here] = np.einsum("hij,hj->hi", moves[histories.gap[here, nth]], weighted)
    slopes = chances_slopes(model.rates, histories.years)
    by_rates = np.einsum("qtij,tij->q", slopes, by_chance)
    if histories.entered is not None:
        by_rates[-1] += histories.entered.sum()
    total = float(sum(np.log(s).sum() for s in scales)) + _entered(histories, model)
    return total, Slopes(start, by_rates, by_written), forward[-1]


def _entered(histories: Histories, model: Model) -> float:
    """The rate into the worst grade, for histories that end by entering it on a known day."""
    return 0.0 if histories.entered is None else float(histories.entered.sum() * np.log(model.rates[-1]))


def _forward(histories: Histories, model: Model) -> tuple[list[Array], list[Array], list[Array], Array]:
    """Of each step: chances of the true grade so far, the scale, and the chance of what was written by true grade."""
    moves = chances(model.rates, histories.years)
    a = np.repeat(model.start[None, :], len(histories.grade), axis=0)
    forward, scales, steps = [], [], []
    for nth in range(histories.grade.shape[1]):
        here = histories.grade[:, nth] >= 0
        seen = np.ones_like(a)
        seen[here] = _seen(histories, model, nth, here)
        if nth:
            a = a.copy()
            a[here] = np.einsum("hi,hij->hj", a[here], moves[histories.gap[here, nth]])
        a = a * seen
        scale = np.where(here, a.sum(axis=1), 1.0)
        a = a / scale[:, None]
        forward.append(a)
        scales.append(scale)
        steps.append(seen)
    return forward, scales, steps, moves


def _seen(histories: Histories, model: Model, nth: int, here: npt.NDArray[np.bool_]) -> Array:
    """Chance of what was written, by true grade: history x true grade."""
    grade, examiner = histories.grade[here, nth], histories.examiner[here, nth]
    seen: Array = np.maximum(model.written[examiner, :, grade], FLOOR)
    true: Array = np.eye(model.start.size)[grade]
    if nth == 0 and histories.first_is_true:
        return true
    if histories.entered is not None:
        last = _last(histories, nth)[here] & histories.entered[here]
        seen = np.where(last[:, None], np.roll(true, -1, axis=1), seen)  # it was in the grade before until that day
    return seen


def _last(histories: Histories, nth: int) -> npt.NDArray[np.bool_]:
    later = histories.grade[:, nth + 1 :] >= 0
    return np.asarray((histories.grade[:, nth] >= 0) & ~later.any(axis=1))


def _add_written(by_written: Array, histories: Histories, nth: int, here: npt.NDArray[np.bool_], weight: Array) -> None:
    """Adds the slopes by the chances of what was written; gradings that are taken as true have none."""
    strays = np.ones(int(here.sum()), dtype=bool)
    if nth == 0 and histories.first_is_true:
        return
    if histories.entered is not None:
        strays = ~(_last(histories, nth)[here] & histories.entered[here])
    grade, examiner = histories.grade[here, nth][strays], histories.examiner[here, nth][strays]
    states = np.arange(by_written.shape[1])
    np.add.at(by_written, (examiner[:, None], states[None, :], grade[:, None]), weight[strays])
