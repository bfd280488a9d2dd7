"""Figures of method by which a plan is worked out, all judgement (plan.toml), checked on load."""

from typing import Annotated

from pydantic import Field

from collection.risk.parameters import Fraction, Positive, Strict, read

Count = Annotated[int, Field(gt=0)]


class Planning(Strict):
    """How far a plan looks, how hours are learned, and how hard the best plan is searched for.

    years, horizon, moves_over_years, repair_sound_years, backlog_years [year]; seconds [s].
    """

    years: Count
    horizon: Positive
    documentation_share: Fraction
    hours_sd: Positive
    sd_learned_from: Count
    hours_between: Positive
    look_right: Fraction
    double_checks_from: Count
    moves_over_years: Count
    repair_sound_years: Positive
    exact_up_to: Count
    both_up_to: Count
    gap: Positive
    core: Count
    near_core: Count
    price_sample: Count
    evaluations: Count
    nodes: Count
    seconds: Positive
    core_nodes: Count
    branch_core_nodes: Count
    tied_most: Count
    states_most: Count
    draws: Count
    full_solves: Count
    agree_from: Fraction
    backlog_draws: Count
    backlog_years: Count
    seed: int


class Trials(Strict):
    """Budgets of the frontier as multiples of the money, how much more of a limit is tried, and other judgements."""

    budgets: tuple[Annotated[float, Field(ge=0)], ...]
    more: tuple[Positive, ...]
    horizon_times: Positive
    years_times: Positive


class Asking(Strict):
    """What a person asks of a plan: month and day by which things are cleared, the next amount, hours of a round."""

    clear_by: tuple[Annotated[int, Field(ge=1, le=12)], Annotated[int, Field(ge=1, le=31)]]
    next_amount: Positive
    round_hours: Positive
    round_most_hours: Positive
    check_hours: Positive


class Solver(Strict):
    """How HiGHS is asked; the same `threads` for every model of a process, or it answers *not set*."""

    threads: Count
    random_seed: int
    feasibility: Positive
    scale: Positive
    core_seconds_share: Fraction
    seconds_share: Fraction


def planning() -> Planning:
    """The figures of plan.toml. Raises VocabularyError."""
    return read(Planning, "plan", "plan")


def trials() -> Trials:
    """What is tried next to the plan. Raises VocabularyError."""
    return read(Trials, "plan", "frontier")


def solver() -> Solver:
    """How HiGHS is asked. Raises VocabularyError."""
    return read(Solver, "plan", "solver")


def asking() -> Asking:
    """What a person asks of a plan. Raises VocabularyError."""
    return read(Asking, "plan", "asking")
