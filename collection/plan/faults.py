"""What makes it impossible to plan at all: refused with what is wrong and what to do."""

from collections.abc import Iterator, Mapping

import polars as pl

from collection.plan.situation import Situation
from schemas.errors import WrongUsage

c = pl.col
Fault = tuple[str, str]  # what is wrong, what to do


def require_plannable(situation: Situation) -> None:
    """Raise WrongUsage for the first thing that makes a plan impossible."""
    for check in CHECKS:
        for what, to_do in check(situation):
            raise WrongUsage("plan", what, "", to_do)


def _years_without_money(situation: Situation) -> Iterator[Fault]:
    there = set(situation.money["year"])
    for year in _years(situation):
        if year not in there:
            yield f"no money set for {year}", f"Set it; --money {year}=0 says that there is none."


def _years_without_hours(situation: Situation) -> Iterator[Fault]:
    there = set(situation.hours.select("year", "skill").iter_rows())
    demanded = situation.option_hours.filter(c("hours") > 0)["skill"]
    skills = sorted(set(demanded) | set(situation.setups.filter(c("hours") > 0)["skill"]))
    for year in _years(situation):
        for skill in skills:
            if (year, skill) not in there:
                yield (
                    f"no hours of {skill} set for {year}",
                    f"Set them; --hours {year}:{skill}=0 says that there are none.",
                )


def _years(situation: Situation) -> range:
    return range(situation.first_year, situation.first_year + situation.years)


def _two_currencies(situation: Situation) -> Iterator[Fault]:
    spent = [situation.options.filter(c("money") > 0), situation.place_options.filter(c("money") > 0)]
    named = pl.concat([frame["currency"] for frame in (*spent, situation.money)]).drop_nulls().unique().sort()
    if len(named) > 1:
        yield f"money in {' and '.join(named)}", "Give options and money in one currency."


def _beyond_what_can_be(situation: Situation) -> Iterator[Fault]:
    """Shares above 1 and costs below 0; intake refuses them by rule."""
    shares = (
        (situation.effects, "rate_left"),
        (situation.place_effects, "rate_factor"),
        (situation.options, "loss_in_doing"),
    )  # fmt: skip
    for frame, column in shares:
        for option, share in frame.filter(~c(column).is_between(0, 1)).select("option_id", column).iter_rows():
            yield f"{column} of {option} is {share:g}", "Give a share from 0 to 1."
    costs = ((situation.options, "money"), (situation.place_options, "money"), (situation.option_hours, "hours"))
    for frame, column in costs:
        for option, cost in frame.filter(c(column) < 0).select("option_id", column).iter_rows():
            yield f"{column} of {option} is {cost:g}", "Give nothing or more."


def _exclude_themselves(situation: Situation) -> Iterator[Fault]:
    own = situation.options.filter(c("excludes").list.contains(c("option_id")))
    for option in own["option_id"]:
        yield f"option {option} excludes itself", "Take it out of its own list."


def _needs_in_a_circle(situation: Situation) -> Iterator[Fault]:
    needs = dict(situation.options.select("option_id", "needs").iter_rows())
    for option in needs:
        circle = _circle(option, needs)
        if circle:
            yield f"options need each other in a circle: {', '.join(circle)}", "Take one of these needs out."


def _circle(option: str, needs: Mapping[str, list[str]]) -> list[str]:
    """Options on the way from an option back to itself; empty where there is none."""
    ways, seen = [[option]], set()
    while ways:
        way = ways.pop()
        for needed in needs.get(way[-1], []):
            if needed == option:
                return way
            if needed not in seen:
                seen.add(needed)
                ways.append([*way, needed])
    return []


def _musts_without_options(situation: Situation) -> Iterator[Fault]:
    objects, options = set(situation.options["object_id"]), set(situation.options["option_id"])
    for must, number, option, _, _ in situation.musts.iter_rows():
        if number is not None and option is None and number not in objects:
            yield f"{must} asks for {number}, which has no option", "Record an option for it, or take the must out."
        if option is not None and option not in options:
            yield f"{must} asks for option {option}, which there is not", "Correct the must."


CHECKS = (
    _years_without_money, _years_without_hours, _two_currencies, _beyond_what_can_be, _exclude_themselves,
    _needs_in_a_circle, _musts_without_options,
)  # fmt: skip
