"""What a person asks of a plan, as an address writes it: years, money and hours of each skill a year; a sum, a loan."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import polars as pl

from collection.frames import returns
from collection.plan.parameters import asking, planning
from collection.planning.options import BENCH, plan_hours
from collection.planning.situation import Question
from collection.questions.triage import Triage
from schemas.vocabularies import vocabulary

PREFIX = "plan_"
YEARS, MONEY, CLEAR, LINE, HOURS = (PREFIX + n for n in ("years", "money", "clear", "line", "hours_"))
SUM, UNTIL, LOAN = (PREFIX + n for n in ("sum", "until", "loan"))
ROUND = PREFIX + "round_hours"  # of a round of checks, on another page
NAMES = (YEARS, MONEY, CLEAR, LINE, SUM, UNTIL, LOAN, ROUND)
MOST_YEARS = 10
# What the records say there is: skill, null for money; amounts of money or hours.
ON_RECORD = pl.Schema({"skill": pl.String, "year": pl.Int32, "amount": pl.Float64})
c = pl.col


@dataclass(frozen=True)
class Asked:
    """money, hours: of each year of the plan, in place of what the records say. clear: what needs attention now is to
    be cleared by the next such day. amount, until: a sum of money and its last day. loan_id: a loan that is asked for.
    unread: sentences on what the address asks for that cannot be read.
    """

    years: int | None = None
    money: float | None = None
    hours: Mapping[str, float] = field(default_factory=dict)
    clear: bool = False
    amount: float | None = None
    until: date | None = None
    loan_id: str = ""
    unread: tuple[str, ...] = ()

    @classmethod
    def of_query(cls, query: Mapping[str, str]) -> "Asked":
        """What an address asks for; whatever cannot be read is said and left out."""
        known = {HOURS + skill: skill for skill in (*vocabulary("skill").term, BENCH)}
        numbers = {name: _number(text) for name, text in query.items() if name in (YEARS, MONEY, SUM, *known)}
        years = numbers.pop(YEARS, None)
        wrong = [name for name, number in numbers.items() if number is None]
        until = _day(query.get(UNTIL, ""))
        wrong += [UNTIL] if UNTIL in query and until is None else []
        wrong += [YEARS] if YEARS in query and not _whole_years(years) else []
        wrong += [n for n in query if n.startswith(PREFIX) and n not in (*NAMES, *known)]
        return cls(
            years=int(years) if years is not None and _whole_years(years) else None,
            money=numbers.get(MONEY),
            hours={known[name]: n for name, n in numbers.items() if name in known and n is not None},
            clear=CLEAR in query,
            amount=numbers.get(SUM),
            until=until,
            loan_id=query.get(LOAN, ""),
            unread=tuple(f"The address asks for {n} = \u2018{query[n]}\u2019, which cannot be read." for n in wrong),
        )

    def question(self, triage: Triage) -> Question:
        """The question a plan is made for."""
        first, years = triage.as_of.year + 1, self.years or planning().years
        span = range(first, first + years)
        hours = {(year, skill): amount for year in span for skill, amount in self.hours.items()}
        money = {} if self.money is None else dict.fromkeys(span, self.money)
        return Question(first, years, money=money, hours=hours)


def _number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if math.isfinite(number) and number >= 0 else None


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _whole_years(number: float | None) -> bool:
    return number is not None and number == int(number) and 1 <= number <= MOST_YEARS


@returns(ON_RECORD)
def on_record(triage: Triage, years: range) -> pl.DataFrame:
    """Money and hours of skills that options need, by year, as the records have them; schema ON_RECORD. A year that the
    records say nothing of has no row.
    """
    known = triage.collection
    skills = pl.concat([plan_hours(known, planning())["skill"], known["setup_group"]["skill"].drop_nulls()])
    hours = known["year_hours"].filter(c("skill").is_in(skills.unique().implode()))
    money = known["year_money"].group_by("year").agg(amount=c("money").cast(pl.Float64).sum())
    rows = [
        money.select(pl.lit(None, pl.String).alias("skill"), "year", "amount"),
        hours.select("skill", "year", amount=c("hours")),
    ]
    both = pl.concat([r.select(c(n).cast(t) for n, t in ON_RECORD.items()) for r in rows])
    return both.filter(c("year").is_in(list(years))).sort("skill", "year", nulls_last=False)


def skills_needed(triage: Triage) -> list[str]:
    """Skills whose hours the options and set-up work on record need."""
    known = triage.collection
    both = pl.concat([plan_hours(known, planning())["skill"], known["setup_group"]["skill"].drop_nulls()])
    return both.unique().sort().to_list()


def clear_by(day: date) -> date:
    """The next day by which what needs attention now is to be cleared."""
    month, of_month = asking().clear_by
    here = date(day.year, month, of_month)
    return here if day <= here else date(day.year + 1, month, of_month)
