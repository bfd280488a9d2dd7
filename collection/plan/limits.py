"""What limits a plan: money by year and fund, hours by year and skill, as rows that choices use."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.situation import Situation

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
# One limit of a plan: kind is a skill, or null for money; used and limit in its unit, price in worth a unit.
LIMIT = pl.Schema({"skill": pl.String, "year": pl.Int32} | dict.fromkeys(("used", "limit", "price"), pl.Float64))


@dataclass(frozen=True)
class Limits:
    """Rows: money of each year, then hours of each skill in each year; amounts scaled so that a limit is about 1.

    amount : of each row, what no fund carries over. carried : money that may be spent in one of several years: rows x
    amount; `within` : carried x years, where it may be spent. unit : of each row, what 1 stands for.
    """

    years: int
    skills: tuple[str, ...]
    amount: Array
    carried: Array
    within: npt.NDArray[np.bool_]
    unit: Array

    def money(self, year: Ints | int) -> Ints:
        """Row of the money of plan years 1, 2, ..."""
        return np.asarray(year) - 1

    def hours(self, skill: str, year: Ints | int) -> Ints:
        """Row of the hours of a skill in plan years."""
        return np.asarray((1 + self.skills.index(skill)) * self.years + np.asarray(year) - 1)

    @property
    def most(self) -> Array:
        """The most there can be of each row, with all that may be carried to it."""
        most = self.amount.copy()
        most[: self.years] += self.carried @ self.within
        return most

    def times(self, factors: Array) -> "Limits":
        """The same with each row times its factor; money carried takes the factor of its first year."""
        first = self.within.argmax(axis=1)
        return Limits(
            self.years, self.skills, self.amount * factors, self.carried * factors[first], self.within, self.unit
        )


def limits(situation: Situation) -> Limits:
    """Money and hours of the years of the plan. A fund is spent in its year, or carried to `spend_by` if it says so."""
    skills = tuple(sorted(set(situation.option_hours["skill"]) | set(situation.setups["skill"].drop_nulls())))
    rows = (1 + len(skills)) * situation.years
    plain = np.zeros(rows)
    carried, within = [], []
    for year, _, money, _, spend_by, carries in situation.money.iter_rows():
        first = year - situation.first_year + 1
        last = situation.years if carries else first
        last = last if spend_by is None else min(last, spend_by.year - situation.first_year + 1)
        if first > situation.years or last < 1 or last < first:
            continue
        if last == first:
            plain[first - 1] += money
        else:
            carried.append(money)
            within.append([first <= y + 1 <= last for y in range(situation.years)])
    _add_hours(plain, situation, skills)
    inside = np.array(within, dtype=np.bool_).reshape(len(within), situation.years)
    unit = plain.copy()
    unit[: situation.years] += np.array(carried) @ inside if carried else 0
    unit[unit <= 0] = 1
    amounts = np.array(carried)
    money_unit = float(unit[: situation.years].max())
    unit[: situation.years] = money_unit
    return Limits(situation.years, skills, plain / unit, amounts / money_unit, inside, unit)


def _add_hours(plain: Array, situation: Situation, skills: tuple[str, ...]) -> None:
    """Hours of the years of the plan, each skill after the other."""
    for year, skill, hours in situation.hours.iter_rows():
        at = year - situation.first_year
        if skill in skills and 0 <= at < situation.years:
            plain[(1 + skills.index(skill)) * situation.years + at] += hours


def fits(limits: Limits, used: Array, tolerance: float) -> bool:
    """Whether what is used keeps within every row, money carried where it is needed: earliest end first."""
    over = used - limits.amount
    if (over[limits.years :] > tolerance).any():
        return False
    lacking = np.maximum(over[: limits.years], 0.0)
    return float(lacking.sum() - spread(limits, lacking).sum()) <= tolerance


def spread(limits: Limits, lacking: Array) -> Array:
    """Money carried to each year: each year in turn takes what ends first."""
    left, given = limits.carried.copy(), np.zeros(limits.years)
    ends = limits.years - limits.within[:, ::-1].argmax(axis=1)
    for year in range(limits.years):
        for fund in np.argsort(ends, kind="stable"):
            if limits.within[fund, year]:
                part = min(left[fund], lacking[year] - given[year])
                left[fund] -= part
                given[year] += part
    return given


@returns(LIMIT)
def limit_rows(limits: Limits, first_year: int, used: Array, prices: Array) -> pl.DataFrame:
    """Use and price of each limit, schema LIMIT; the limit of money is what the funds can give that year at most."""
    kinds = [None, *limits.skills]
    return pl.DataFrame(
        {
            "skill": [kind for kind in kinds for _ in range(limits.years)],
            "year": [first_year + y for _ in kinds for y in range(limits.years)],
            "used": used * limits.unit, "limit": limits.most * limits.unit, "price": prices / limits.unit,
        },
        schema=LIMIT,
    )  # fmt: skip
