"""Further tables of a plan: each year in one row, funds, budgets, other judgements, in the unit a person reads."""

import polars as pl

from collection.frames import returns
from collection.plan.otherwise import RULES
from collection.plan.parameters import planning
from collection.plan.plan import Plan
from collection.planning.clearing import Clearing
from collection.planning.options import learned_of
from collection.questions.triage import Triage
from collection.questions.year_plan import MONEY, described, use_of_limits
from schemas.vocabularies import vocabulary

BY_YEAR = pl.Schema(
    {"year": pl.Int32(), "treatments": pl.UInt32(), "places": pl.UInt32(), "musts": pl.UInt32(), "takes": pl.String()}
)
FUNDS = pl.Schema(
    {"year": pl.Int32(), "fund": pl.String(), "used": pl.Float64(), "limit": pl.Float64(), "spend_by": pl.Date()}
)
USE_SHARES = pl.Schema(
    {"line": pl.String(), "used": pl.Float64(), "limit": pl.Float64(), "share": pl.Float64(), "figure": pl.String()}
)
BEST = "best plan"
WAYS = {"prevented": BEST, **RULES}  # columns of FRONTIER, and how the plans were chosen
BUDGETS = pl.Schema(
    {"way": pl.String(), "times": pl.Float64(), "money": pl.Float64(), "prevented": pl.Float64(), "asked": pl.Boolean()}
)
CLEARED = pl.Schema(
    {n: pl.String() for n in ("object_id", "title", "place", "steps", "skill")}
    | {"hours": pl.Float64(), "money": pl.Float64(), "objects": pl.UInt32(), "option_id": pl.String()}
)
TAUGHT = pl.Schema(
    {"first_step": pl.String(), "finished": pl.UInt32(), "of_estimate": pl.Float64(), "planned_with": pl.Float64()}
)
BY_WAY = pl.Schema({"way": pl.String(), "prevented": pl.Float64()})
OTHERWISE = pl.Schema({"if_judged": pl.String(), "prevented": pl.Float64(), "come": pl.String(), "go": pl.String()})
MORE_OF_EACH = pl.Schema({"what": pl.String(), "amount": pl.Float64(), "gain": pl.Float64()})
PERCENT = 100  # in a whole
WORTHS = ("worth", "prevented", "loss_expected", "gain", "price")  # columns in the unit of the plan
BETWEEN = ", "
c = pl.col


def in_reading_unit(plan: Plan, rows: pl.DataFrame) -> pl.DataFrame:
    """The rows with what is in the plan's unit named by the unit a person reads: `worth_percent` [% of the collection's
    value], or `worth_money`.
    """
    mine = [n for n in rows.columns if n in WORTHS]
    if plan.in_money:
        return rows.rename({n: f"{n}_money" for n in mine})
    return rows.with_columns(c(n) * PERCENT for n in mine).rename({n: f"{n}_percent" for n in mine})


@returns(BY_YEAR)
def by_year(plan: Plan) -> pl.DataFrame:
    """Each year of the plan in one row, schema BY_YEAR; takes: in words, what it uses of the limits."""
    years = pl.DataFrame({"year": range(plan.first_year, plan.first_year + plan.years)}, schema={"year": pl.Int32})
    lines = plan.lines.group_by("year").agg(treatments=pl.len(), musts=c("must").sum())
    places = plan.places.group_by("year").agg(places=pl.len())
    rows = years.join(lines, on="year", how="left").join(places, on="year", how="left").with_columns(
        c("treatments", "places", "musts").fill_null(0)
    )  # fmt: skip
    use, unit = use_of_limits(plan).filter(c("used") > 0), money_unit(plan)
    words = [_takes(use.filter(c("year") == year), unit) for year in rows["year"]]
    full = rows.with_columns(takes=pl.Series(words, dtype=pl.String)).sort("year")
    return full.select(c(n).cast(t) for n, t in BY_YEAR.items())


def _takes(use: pl.DataFrame, unit: str) -> str:
    """*58 of 60 hours of enamel conservator, 3,960 of 4,000 GBP*."""
    rows = use.select("used", "limit", "what").iter_rows()
    return BETWEEN.join(f"{used:,.0f} of {limit:,.0f} {unit if what == MONEY else what}" for used, limit, what in rows)


@returns(USE_SHARES)
def use_shares(plan: Plan) -> pl.DataFrame:
    """Every limit of each year that there is anything of, with the share that is used, schema USE_SHARES."""
    use, unit = use_of_limits(plan).filter((c("limit") > 0) | (c("used") > 0)), money_unit(plan)
    figures = [f"{used:,.0f} of {limit:,.0f}" for used, limit in use.select("used", "limit").iter_rows()]
    named = use.with_columns(
        line=pl.format("{}, {}", "year", c("what").replace(MONEY, unit)),
        share=pl.when(c("limit") > 0).then(c("used") / c("limit")).otherwise(1.0),
        figure=pl.Series(figures, dtype=pl.String),
    )
    return named.select(c(n).cast(t) for n, t in USE_SHARES.items())


def money_unit(plan: Plan) -> str:
    """The currency of the plan's money, *money* where none is on record."""
    return plan.basis.program.situation.currency or MONEY


@returns(FUNDS)
def use_of_funds(plan: Plan) -> pl.DataFrame:
    """Which fund pays what in each year, schema FUNDS: what lapses first is spent first. A plan says how much of the
    money of a year is used, not from which fund.
    """
    program = plan.basis.program
    first = program.situation.first_year
    funds = program.situation.money.with_columns(
        ends=pl.when("carries_over").then(c("spend_by").dt.year().fill_null(first + plan.years)).otherwise("year")
    )
    to_pay = dict(plan.limits.filter(c("skill").is_null()).select("year", "used").iter_rows())
    rows: list[tuple[object, ...]] = []
    for row in funds.sort("ends", "spend_by", "fund", nulls_last=True).iter_rows(named=True):
        there = row["money"]
        for year in range(max(row["year"], first), min(row["ends"], first + plan.years - 1) + 1):
            part = min(to_pay.get(year, 0.0), there)
            rows.append((year, row["fund"], part, there, row["spend_by"]))
            to_pay[year] = to_pay.get(year, 0.0) - part
            there -= part
    return pl.DataFrame(rows, schema=FUNDS, orient="row").sort("year", "fund")


@returns(BUDGETS)
def budgets(frontier: pl.DataFrame) -> pl.DataFrame:
    """What each budget prevents, by the best plan and by each rule of thumb; schema BUDGETS, from schema FRONTIER.

    A way that does not meet the musts with a budget has no row there.
    """
    long = frontier.unpivot(list(WAYS), index=["times", "money"], variable_name="column", value_name="worth")
    way = c("column").replace_strict(WAYS, return_dtype=pl.String)
    named = long.drop_nulls("worth").with_columns(way=way, prevented="worth", asked=c("times") == 1)
    return named.select(c(n).cast(t) for n, t in BUDGETS.items())


@returns(BY_WAY)
def by_way(plan: Plan) -> pl.DataFrame:
    """What the plan prevents, and each rule of thumb under the same limits; schema BY_WAY.

    prevented: null where a rule meets no must in time.
    """
    return pl.DataFrame([(BEST, plan.prevented), *plan.rules.iter_rows()], schema=BY_WAY, orient="row")


@returns(OTHERWISE)
def otherwise_words(rows: pl.DataFrame) -> pl.DataFrame:
    """Other judgements with the objects that come and go as words, schema OTHERWISE."""
    joined = {n: c(n).list.join(BETWEEN) for n in ("come", "go")}
    return rows.with_columns(**joined).select(c(n).cast(t) for n, t in OTHERWISE.items())


@returns(MORE_OF_EACH)
def more_words(more: pl.DataFrame) -> pl.DataFrame:
    """What a little more of each limit really prevents, schema MORE_OF_EACH, from schema MORE."""
    labels = vocabulary("skill").labels()
    skill = c("skill").replace_strict(labels, default=c("skill")).str.to_lowercase()
    what = pl.when(c("skill").is_null()).then(pl.lit(MONEY)).otherwise(pl.format("hours of {}", skill))
    return more.with_columns(what=what).select(c(n).cast(t) for n, t in MORE_OF_EACH.items())


@returns(CLEARED)
def clearing_rows(triage: Triage, its: Clearing) -> pl.DataFrame:
    """What would be done to clear what needs attention now, most hours first; schema CLEARED."""
    return described(triage, its.jobs).select(c(n).cast(t) for n, t in CLEARED.items())


@returns(TAUGHT)
def hours_taught(triage: Triage) -> pl.DataFrame:
    """How long finished treatments took against their estimates, by first step, schema TAUGHT.

    of_estimate [times]: what they took on the average. planned_with [times]: what estimates are multiplied by.
    """
    labels = vocabulary("treatment_step").labels()
    rows = learned_of(triage.collection, planning()).with_columns(
        c("first_step").replace(labels), finished="n", of_estimate="times", planned_with="factor"
    )
    ordered = rows.sort("finished", "first_step", descending=[True, False])
    return ordered.select(c(n).cast(t) for n, t in TAUGHT.items())
