"""How long each hazard acts at which strength: years that count, after what is done to the object and to its place.

An interval [from, to) within which a rate is cut by a share is a `Cut`; the integral over the horizon of the product of
all (1 - cut) is reckoned by taking one cut after the other out, which needs no grid of breaks.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from collection.plan.hazard_table import HazardTable

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Cut = tuple[Array, Array, Array]  # share cut, from [year], to [year]; shapes that broadcast
HALF_A_YEAR = 1 / 2


@dataclass(frozen=True)
class Jobs:
    """What is done to objects: rows of (object, up to so many options with their plan years 1, 2, ...; -1: none)."""

    objects: Ints
    options: Ints
    years: Ints

    def __getitem__(self, at: slice | Ints) -> "Jobs":
        return Jobs(self.objects[at], self.options[at], self.years[at])


@dataclass(frozen=True)
class PlaceStates:
    """What is done to a place: states x place options with their plan years; -1: none. The first state is nothing."""

    options: Ints
    years: Ints

    def __getitem__(self, at: int) -> "PlaceStates":
        return PlaceStates(self.options[at : at + 1], self.years[at : at + 1])


@dataclass(frozen=True)
class Exposure:
    """Pairs of a row of jobs and a hazard of its object, sorted by row and part, each by state of the place.

    resting, moving [year, moves] : pairs x states, what multiplies m/T and -ln(1 - c).
    later_resting, later_moving : the same of what options left behind, once it ages (0 for other hazards).
    parts : where each part begins among the pairs; rows : where each row begins among the parts.
    row : the row that each of these is. doing : share kept by the doing itself, by row of jobs.
    """

    hazard: Ints
    resting: Array
    moving: Array
    later_resting: Array
    later_moving: Array
    parts: Ints
    rows: Ints
    row: Ints
    doing: Array


def years_left(start: Array, end: Array, cuts: Sequence[Cut]) -> Array:
    """Integral from start to end [year] of the product of (1 - share) over the cuts in force."""
    if not cuts:
        return np.maximum(end - start, 0.0)
    (share, begins, stops), others = cuts[0], cuts[1:]
    if not np.any(share):
        return years_left(start, end, others)
    inside = years_left(np.maximum(start, begins), np.minimum(end, stops), others)
    return years_left(start, end, others) - share * inside


def exposure(table: HazardTable, jobs: Jobs, states: PlaceStates, horizon: float) -> Exposure:
    """How long each hazard of each row acts, over `horizon` [year], in each state of the place."""
    first, last = table.starts[jobs.objects], table.starts[jobs.objects + 1]
    row, hazard = _spread(first, last)
    nothing, end = np.zeros((1, 1)), np.full((1, 1), horizon)
    done = _job_cuts(table, jobs, row, hazard)
    climate = done + _place_cuts(table, states, hazard, table.climate)
    handling = done + _place_cuts(table, states, hazard, table.handling)
    shape = (row.size, len(states.options))
    resting = np.broadcast_to(years_left(nothing, end, climate), shape)
    moving = np.broadcast_to(_moves(table, hazard, handling, horizon), shape)
    later = np.zeros((1, 1))
    plain = (row, hazard, resting, moving, *(np.broadcast_to(later, shape),) * 2)
    added = _added(table, jobs, states, horizon) if table.adding.any() else None
    return _sorted(table, jobs, [plain] if added is None else [plain, added])


def _spread(first: Ints, last: Ints) -> tuple[Ints, Ints]:
    """Each row repeated for each number from first to last."""
    counts = last - first
    row = np.repeat(np.arange(first.size), counts)
    within = np.arange(row.size) - np.repeat(np.cumsum(counts) - counts, counts)
    return row, first[row] + within


def _job_cuts(table: HazardTable, jobs: Jobs, row: Ints, hazard: Ints) -> list[Cut]:
    """What each job of the row takes off each hazard, from the middle of its year for as long as it lasts."""
    cuts = []
    for option, year in zip(jobs.options.T, jobs.years.T, strict=True):
        share = 1 - table.rate_left(option[row], hazard)
        begins = (year - HALF_A_YEAR)[row]
        cuts.append((share[:, None], begins[:, None], (begins + table.lasts[option[row]])[:, None]))
    return cuts


def _place_cuts(table: HazardTable, states: PlaceStates, hazard: Ints, group: Ints) -> list[Cut]:
    """What the place takes off each hazard in each state, by the group of climate or handling it is in."""
    cuts = []
    for option, year in zip(states.options.T, states.years.T, strict=True):
        begins = (year - HALF_A_YEAR)[None, :].astype(np.float64)
        acts = table.protects[option][:, table.owner[hazard]]
        share = (acts * (1 - table.rate_factor[option][:, group[hazard]])).T
        cuts.append((share, begins, begins + table.place_lasts[option][None, :]))
    return cuts


def _moves(table: HazardTable, hazard: Ints, cuts: Sequence[Cut], horizon: float) -> Array:
    """Moves that count: ordinary ones all the time, journeys within the year they are planned for."""
    end = np.full((1, 1), horizon)
    if not table.chance.any():
        return np.zeros((1, 1))
    moves = table.moves[hazard][:, None] * years_left(np.zeros((1, 1)), end, cuts)
    for year, counted in enumerate(table.journeys.T):
        if counted.any():
            begins = np.full((1, 1), float(year))
            moves = moves + counted[hazard][:, None] * years_left(begins, np.minimum(begins + 1, end), cuts)
    return moves


Pairs = tuple[Ints, Ints, Array, Array, Array, Array]


def _added(table: HazardTable, jobs: Jobs, states: PlaceStates, horizon: float) -> Pairs:
    """Pairs of what options leave behind: sound from the middle of their year on for some years, then ageing."""
    each = []
    for option, year in zip(jobs.options.T, jobs.years.T, strict=True):
        first, last = table.added_starts[option], table.added_starts[option + 1]
        row, number = _spread(np.where(option >= 0, first, 0), np.where(option >= 0, last, 0))
        hazard = table.added_from + number
        cuts = [_place_cuts(table, states, hazard, of) for of in (table.climate, table.handling)]
        begins = (year - HALF_A_YEAR)[row][:, None].astype(np.float64)
        ages, end = np.minimum(begins + table.sound_years, horizon), np.full((1, 1), horizon)
        shape = (row.size, len(states.options))
        often = table.moves[hazard][:, None]
        sound, ageing = ([years_left(a, b, cut) for cut in cuts] for a, b in ((begins, ages), (ages, end)))
        figures = (sound[0], often * sound[1], ageing[0], often * ageing[1])
        each.append((row, hazard, *(np.broadcast_to(x, shape) for x in figures)))
    return tuple(np.concatenate(columns) for columns in zip(*each, strict=True))  # type: ignore[return-value]


def _sorted(table: HazardTable, jobs: Jobs, pairs: Sequence[Pairs]) -> Exposure:
    """All pairs sorted by row and part, with where each part and each row begins."""
    columns: list[Any] = list(pairs[0]) if len(pairs) == 1 else [np.concatenate(c) for c in zip(*pairs, strict=True)]
    if len(pairs) > 1:
        order = np.lexsort((columns[1], table.part[columns[1]], columns[0]))
        columns = [column[order] for column in columns]
    row, hazard, resting, moving, later, later_moving = columns
    part = table.part[hazard]
    new_row = np.diff(row, prepend=-1) != 0
    new_part = new_row | (np.diff(part, prepend=-1) != 0)
    parts = np.flatnonzero(new_part)
    doing = (1 - table.loss_in_doing[jobs.options]).prod(axis=1)
    return Exposure(
        hazard, resting, moving, later, later_moving, parts, np.flatnonzero(new_row[parts]), row[new_row], doing
    )
