"""Growth beyond error: from the value at the last event, so that slow growth adds up (risk model, section 6)."""

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.risk.parameters import Lines

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


def growth_events(lines: pl.DataFrame, limits: Lines, relative_error: float) -> pl.Series:
    """Whether each line tells of an event of growth since the last one; Boolean, in the order of `lines`.

    Parameters
    ----------
    lines : in the order they were written within each `series` (a damage between two treatments): series, unit,
        measured, error [of the same unit], grown (what the line says in words).
    limits : growth_beyond, growth_twice_beyond [standard errors].
    relative_error : standard error of a measurement that has none, as a share of it.

    Returns
    -------
    Growth beyond 4.37 s is an event, or beyond 3.4 s at two successive checks; s is the root mean square of the two
    errors. Where nothing was measured, or only in another unit, the words decide. They do so as well where a
    measurement has no error of its own.
    """
    if lines.is_empty():
        return pl.Series("event", [], dtype=pl.Boolean)
    numbered = lines.select(
        "unit", "measured", "error", "grown",
        row=pl.int_range(pl.len()),
        series=pl.col("series").rank("dense") - 1,
        nth=pl.int_range(pl.len()).over("series"),
    )  # fmt: skip
    scan = _Scan(int(numbered["series"].max()) + 1, limits, relative_error)  # type: ignore[arg-type]
    events = np.zeros(lines.height, dtype=bool)
    for step in numbered.partition_by("nth", maintain_order=True):  # the first of each comes before any second
        events[step["row"].to_numpy()] = scan.step(step)
    return pl.Series("event", events)


class _Scan:
    """What each series is compared with, one value a series: all series take their nth line in one step."""

    def __init__(self, series: int, limits: Lines, relative_error: float) -> None:
        self._once, self._twice, self._relative = limits.growth_beyond, limits.growth_twice_beyond, relative_error
        self._value, self._error = np.full(series, np.nan), np.full(series, np.nan)
        self._unit = np.full(series, "", dtype=object)
        self._beyond = np.zeros(series, dtype=bool)  # beyond the smaller limit at the check before
        self._begun = np.zeros(series, dtype=bool)

    def step(self, step: pl.DataFrame) -> Flags:
        """Events of the lines of one step; what comes later is compared with what they leave."""
        at = step["series"].to_numpy()
        value, error = (step[n].cast(pl.Float64).fill_null(np.nan).to_numpy() for n in ("measured", "error"))
        words, unit = step["grown"].to_numpy(), step["unit"].fill_null("").to_numpy()
        comparable = ~np.isnan(value) & ~np.isnan(self._value[at]) & (unit == self._unit[at])
        s = self._standard_error(at, value, error)
        growth = np.where(comparable, value - self._value[at], 0.0)
        over = comparable & (growth > self._twice * s)
        measured = comparable & ((growth > self._once * s) | (over & self._beyond[at]))
        without_error = np.isnan(error) & np.isnan(self._error[at])
        by_words = words & (~comparable | without_error)
        event = self._begun[at] & (measured | by_words)
        self._value[at[event]] = np.nan
        self._compare_next_with(at, event | ~comparable, value, error, unit)
        self._beyond[at] = over & ~event
        self._begun[at] = True
        return np.asarray(event)

    def _standard_error(self, at: npt.NDArray[np.int64], value: Array, error: Array) -> Array:
        """Root mean square of the errors of both; one alone stands for the other; else a share of the values."""
        before = self._error[at]
        first, second = np.where(np.isnan(before), error, before), np.where(np.isnan(error), before, error)
        known = np.hypot(first, second) / np.sqrt(2)
        guess = self._relative * np.hypot(self._value[at], value) / np.sqrt(2)
        return np.asarray(np.where(np.isnan(known), guess, known))

    def _compare_next_with(
        self, at: npt.NDArray[np.int64], anew: Flags, value: Array, error: Array, unit: npt.NDArray[np.object_]
    ) -> None:
        """After an event, or where a measurement is the first of its unit, it is what comes later is compared with.

        An event told in words alone leaves nothing to compare with: the next measurement is the first again.
        """
        fresh = at[anew]
        measured = ~np.isnan(value[anew])
        keep = fresh[measured]
        self._value[keep], self._error[keep], self._unit[keep] = (x[anew][measured] for x in (value, error, unit))
