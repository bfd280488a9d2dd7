"""What the plan would be if rates or the horizon were judged otherwise: which objects come and which go."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import polars as pl

from collection.frames import returns
from collection.plan.musts import MustsNotMet
from collection.plan.parameters import Planning, planning, trials
from collection.plan.plan import Plan, make_plan
from collection.plan.situation import Situation
from collection.plan.stopping import asked_to_stop

# if_judged: words; prevented in that judgement, in the plan's unit; null where it is planned no more.
OTHERWISE = pl.Schema(
    {
        "if_judged": pl.String(),
        "prevented": pl.Float64(),
        "come": pl.List(pl.String),
        "go": pl.List(pl.String),
    }
)
YEARS = ("years_short", "years_likely", "years_long")
c = pl.col


@returns(OTHERWISE)
def judged_otherwise(
    plan: Plan, groups: Mapping[str, Sequence[str]] | None = None, *, figures: Planning | None = None,
    seconds: float | None = None,
) -> pl.DataFrame:  # fmt: skip
    """The plan solved again with another horizon, all years longer or shorter, a group of rates higher, schema
    OTHERWISE.

    groups : by their names, rows of the rates whose rates are taken higher, one group after the other. seconds : for
        each.
    """
    figures = figures or planning()
    now = set(plan.lines["object_id"])
    rows: list[tuple[str, float | None, list[str], list[str]]] = []
    for words, its in _judgements(plan.basis.program.situation, groups or {}):
        if asked_to_stop():
            break
        other = make_plan(its, figures=figures, seconds=seconds)
        if isinstance(other, MustsNotMet):
            rows.append((words, None, [], []))
            continue
        then = set(other.lines["object_id"])
        rows.append((words, other.prevented, sorted(then - now), sorted(now - then)))
    return pl.DataFrame(rows, schema=OTHERWISE, orient="row")


def _judgements(its: Situation, groups: Mapping[str, Sequence[str]]) -> Iterator[tuple[str, Situation]]:
    times = trials().years_times
    yield (
        f"{trials().horizon_times:g} times the years ahead",
        replace(its, horizon=its.horizon * trials().horizon_times),
    )
    yield f"all years {times:g} times longer", replace(its, hazards=_years_times(its.hazards, times, None))
    yield f"all years {times:g} times shorter", replace(its, hazards=_years_times(its.hazards, 1 / times, None))
    for name, rows in groups.items():
        hazards = _years_times(its.hazards, 1 / times, rows)
        yield f"rates of {name} {times:g} times higher", replace(its, hazards=hazards)


def _years_times(hazards: pl.DataFrame, times: float, group: Sequence[str] | None) -> pl.DataFrame:
    """Hazards with their years multiplied, all of them or those of some rows of the rates."""
    mine = pl.lit(True) if group is None else c("rate_row").is_in(list(group))
    return hazards.with_columns(pl.when(mine).then(c(y) * times).otherwise(c(y)).alias(y) for y in YEARS)
