"""What choices, places and set-up work use of the limits, in the units of the limits."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.plan.columns import Columns, setup_groups
from collection.plan.limits import Limits
from collection.plan.places import Place
from collection.plan.situation import Situation

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Usage:
    """Rows and amounts of each choice (amount 0 where it uses fewer), and the (group, year) of each job."""

    row: Ints
    amount: Array
    setup: Ints


def usage(situation: Situation, rows: Limits, columns: Columns) -> Usage:
    """What each choice uses: money and each skill's hours of each job in its year."""
    money = np.append(situation.options["money"].to_numpy().astype(np.float64), 0.0)
    skill, hours = _skills(situation, situation.options["option_id"], rows)
    index, amount = [], []
    for option, year in zip(columns.options.T, columns.years.T, strict=True):
        at = np.maximum(year, 1)
        index.append(rows.money(at))
        amount.append(money[option])
        for one, many in zip(skill.T, hours.T, strict=True):
            index.append(np.where(many[option] > 0, (1 + one[option]) * rows.years + at - 1, 0))
            amount.append(many[option])
    row, used = np.stack(index, axis=1), np.stack(amount, axis=1)
    return Usage(row, used / rows.unit[row], _setups(situation, columns))


def _skills(situation: Situation, options: pl.Series, rows: Limits) -> tuple[Ints, Array]:
    """Skills (numbers) and hours of each option, side by side; a last row of none stands for no option."""
    number = {o: n for n, o in enumerate(options)}
    each: list[list[tuple[int, float]]] = [[] for _ in range(len(number) + 1)]
    for option, skill, hours in situation.option_hours.iter_rows():
        if option in number and hours:
            each[number[option]].append((rows.skills.index(skill), hours))
    width = max(1, *map(len, each))
    padded = [its + [(0, 0.0)] * (width - len(its)) for its in each]
    both = np.array(padded, dtype=np.float64)
    return both[..., 0].astype(np.int64), both[..., 1]


def _setups(situation: Situation, columns: Columns) -> Ints:
    """Number of (group, year) that each job needs; -1 none."""
    _, group_of = setup_groups(situation)
    group = group_of[columns.options]
    return np.asarray(np.where(group >= 0, group * situation.years + columns.years - 1, -1))


def setup_usage(situation: Situation, rows: Limits) -> Array:
    """What the set-up work of each (group, year) uses: (group, year) x limits."""
    names, _ = setup_groups(situation)
    used = np.zeros((len(names) * situation.years, rows.amount.size))
    for name, skill, hours, money in situation.setups.iter_rows():
        for year in range(1, situation.years + 1):
            at = names.index(name) * situation.years + year - 1
            used[at, rows.money(year)] += money or 0.0
            if skill is not None:
                used[at, rows.hours(skill, year)] += hours or 0.0
    return used / rows.unit


def place_usage(situation: Situation, rows: Limits, place: Place) -> Array:
    """What each state of a place uses: states x limits. Its cost once, and its yearly cost each year after, while it
    lasts.
    """
    used = np.zeros((len(place.states), rows.amount.size))
    costs = situation.place_options.select("option_id", "money", "yearly_cost", "lasts_years").rows()
    hours: dict[str, list[tuple[str, float]]] = {}
    mine = pl.col("option_id").is_in(list(place.options))
    for option, skill, many in situation.option_hours.filter(mine).iter_rows():
        hours.setdefault(option, []).append((skill, many))
    for number, state in enumerate(place.states):
        for position, year in state:
            option, money, yearly, lasts = costs[position]
            used[number, rows.money(year)] += money
            end = situation.years if lasts is None else min(situation.years, year + int(np.ceil(lasts)) - 1)
            for later in range(year + 1, end + 1):
                used[number, rows.money(later)] += yearly
            for skill, many in hours.get(option, ()):
                used[number, rows.hours(skill, year)] += many
    return used / rows.unit
