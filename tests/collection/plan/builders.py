"""Rows of a situation for tests, with what most of them share filled in."""

from datetime import date

import polars as pl

from collection.plan.situation import SCHEMAS, situation

FIRST = 2027
ONE = {"lasts_years": None, "currency": "EUR"}


def obj(number, value=1.0, *, left=False, away=()):
    return {"object_id": number, "value_share": value, "insured_value": None, "left": left, "away": list(away)}


def hazard(
    of, number, *, part="whole", part_share=1.0, reach, loss_depth, years, climate=None, handling=None, modifier=1.0,
    chance=0.0, moves=0.0, rate_row="row", reach_low=None, reach_high=None,
):  # fmt: skip
    short, likely, long = (years, years, years) if isinstance(years, int | float) else years
    return {
        "object_id": of, "hazard_id": number, "part": part, "part_share": part_share, "reach": reach,
        "reach_low": reach_low or reach, "reach_likely": reach, "reach_high": reach_high or reach, "loss_depth": loss_depth, "years_short": float(short),
        "years_likely": float(likely), "years_long": float(long), "modifier": modifier, "chance_per_move": chance,
        "moves_a_year": moves, "climate": climate, "handling": handling, "rate_row": rate_row,
    }  # fmt: skip


def option(number, of, money=0.0, **other):
    plain = {
        "option_id": number, "object_id": of, "money": float(money), "loss_in_doing": 0.0, "setup_group": None,
        "needs": [], "excludes": [], "together_with": [], "prevents_loss": True, "open": True, "done": False,
        "given_worth": None,
    }  # fmt: skip
    return ONE | plain | other


def place_option(number, location, money=0.0, **other):
    plain = {"option_id": number, "location_id": location, "money": float(money), "yearly_cost": 0.0}
    return ONE | plain | {"together_with": [], "open": True} | other


def must(number, *, of=None, option_id=None, by=date(FIRST, 12, 31)):
    return {"must_id": number, "object_id": of, "option_id": option_id, "done_by": by, "because": "decision"}


def money(*amounts, fund="general", carries_over=False, currency="EUR"):
    return [
        {"year": FIRST + n, "fund": fund, "money": float(a), "currency": currency, "spend_by": None,
         "carries_over": carries_over} for n, a in enumerate(amounts)
    ]  # fmt: skip


def hours(skill, *amounts):
    return [(FIRST + n, skill, float(a)) for n, a in enumerate(amounts)]


def rows(name, given):
    """A frame of the schema of this name, from dictionaries or tuples in its order."""
    schema = SCHEMAS[name]
    if given and isinstance(given[0], dict):
        return pl.DataFrame(given, schema=schema)
    return pl.DataFrame(given, schema=schema, orient="row")


def situation_of(*, years=1, horizon=10.0, insured=False, hour_price=0.0, **given):
    frames = {name: rows(name, its) for name, its in given.items()}
    return situation(FIRST, years, float(horizon), insured=insured, hour_price=hour_price, **frames)
