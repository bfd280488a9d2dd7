"""A plan in rows: its lines, places and set-up work, what it prevents over other years, what fell out and why."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.exposure import Jobs
from collection.plan.parameters import solver
from collection.plan.places import NO_PLACE
from collection.plan.program import Program, Selection, jobs_of, setups_of
from collection.plan.worth import losses

Array = npt.NDArray[np.float64]
# One treatment. worth: how much more would be lost without this line, the rest as planned; lines do not add up to what
# is prevented where they act on the same object. hours: all skills together.
LINE = pl.Schema(
    {"option_id": pl.String, "object_id": pl.String, "year": pl.Int32}
    | dict.fromkeys(("hours", "money", "worth"), pl.Float64)
    | {"must": pl.Boolean}
)
PLACE_LINE = pl.Schema(
    {"option_id": pl.String, "location_id": pl.String, "year": pl.Int32, "money": pl.Float64, "worth": pl.Float64}
)
SETUP_LINE = pl.Schema({"setup_group": pl.String, "year": pl.Int32})
LEFT_OUT = pl.Schema({"option_id": pl.String, "why": pl.String})
COSTS_MORE = "costs more than it saves"
PREVENTS_NOTHING = "prevents nothing of what is recorded"
BEYOND = "asks for more than there is in any year"
OTHER_CHOSEN = "another option of the object is planned"
OTHERS_PREVENT_MORE = "others prevent more with the same money and hours"


@dataclass(frozen=True)
class Basis:
    """What a plan was chosen from: the table, what was chosen, and the prices of the limits in the table's units."""

    program: Program
    selection: Selection
    prices: Array


@returns(LINE)
def lines(basis: Basis) -> pl.DataFrame:
    """The treatments of a plan by year and option, schema LINE."""
    program, its = basis.program, basis.program.situation
    choices = basis.selection.choices
    block, job = np.nonzero(program.options[choices] >= 0)
    option, year = program.options[choices][block, job], program.years[choices][block, job]
    rows = its.options.select("option_id", "object_id", "money")[option]
    hours = its.option_hours.group_by("option_id").agg(pl.col("hours").sum())
    objects, named = its.musts["object_id"].drop_nulls(), its.musts["option_id"].drop_nulls()
    asked = pl.col("object_id").is_in(objects.implode()) | pl.col("option_id").is_in(named.implode())
    worth = _worth_of_lines(basis, block, option)
    full = rows.with_columns(
        year=pl.Series(year + its.first_year - 1), worth=pl.Series(worth, dtype=pl.Float64), must=asked
    )
    with_hours = full.join(hours, on="option_id", how="left").with_columns(pl.col("hours").fill_null(0.0))
    return with_hours.select(pl.col(n).cast(t) for n, t in LINE.items()).sort("year", "option_id")


def _worth_of_lines(basis: Basis, block: npt.NDArray[np.int64], option: npt.NDArray[np.int64]) -> Array:
    """How much more would be lost without each job, the other jobs and the places as planned."""
    program, selection = basis.program, basis.selection
    choices = selection.choices[block]
    options, years = program.options[choices], program.years[choices]
    with_all = _lost(program, choices, options, years, selection)
    gone = options == option[:, None]
    without = _lost(program, choices, np.where(gone, -1, options), np.where(gone, 0, years), selection)
    return without - with_all + _given(program)[option]


def _given(program: Program) -> Array:
    """Worth of options that does not come from hazards."""
    return program.situation.options["given_worth"].fill_null(0.0).to_numpy().astype(np.float64)


def _lost(
    program: Program, choices: npt.NDArray[np.int64], options: npt.NDArray[np.int64], years: npt.NDArray[np.int64],
    selection: Selection, horizon: float | None = None,
) -> Array:  # fmt: skip
    """What is lost of the objects of each choice, with jobs in place of its own."""
    jobs, of = jobs_of(program, choices, options, years)
    place = program.places_of(choices)[of]
    values = program.situation.values
    worth = np.array([values[o] for o in program.situation.objects["object_id"]])[jobs.objects]
    lost = np.zeros(of.size)
    for number, its in enumerate(program.places):
        mine = np.flatnonzero(place == number)
        states = its.arrays()[int(selection.states[number])]
        lost[mine] = losses(program.table, jobs[mine], states, horizon or program.situation.horizon)[:, 0]
    return np.bincount(of, lost * worth, minlength=choices.size).astype(np.float64)


def prevented_over(basis: Basis, horizon: float) -> float:
    """What the plan prevents over another horizon [year], in the plan's unit."""
    program, selection = basis.program, basis.selection
    options, years = program.options[selection.choices], program.years[selection.choices]
    nothing = Selection(selection.choices, np.zeros_like(selection.states))
    without = _lost(program, selection.choices, np.full_like(options, -1), years * 0, nothing, horizon)
    with_all = _lost(program, selection.choices, options, years, selection, horizon)
    given = _given(program)[options[options >= 0]].sum()
    return float((without - with_all).sum() + given)


def expected_over(program: Program, horizon: float) -> float:
    """What all objects are expected to lose over a horizon [year] if nothing is done, in the plan's unit."""
    objects = np.arange(program.situation.objects.height)
    none = np.full((objects.size, 1), -1)
    values = program.situation.values
    worth = np.array([values[o] for o in program.situation.objects["object_id"]])
    return float(losses(program.table, Jobs(objects, none, none * 0), NO_PLACE.arrays(), horizon)[:, 0] @ worth)


@returns(PLACE_LINE)
def place_lines(basis: Basis) -> pl.DataFrame:
    """What is done to places, schema PLACE_LINE; worth: how much more would be lost with nothing done to that group."""
    program, selection = basis.program, basis.selection
    rows = []
    costs = program.situation.place_options.select("option_id", "location_id", "money").rows()
    for number, place in enumerate(program.places):
        mine = selection.choices[program.place_of == number]
        state = np.full(mine.size, selection.states[number])
        gain = float((program.worth_at(mine, state) - program.worth_at(mine, state * 0)).sum()) / program.scale
        for option, year in place.states[int(selection.states[number])]:
            named, location, money = costs[option]
            rows.append((named, location, program.situation.first_year + year - 1, money, gain))
    return pl.DataFrame(sorted(rows), schema=PLACE_LINE, orient="row")


@returns(SETUP_LINE)
def setup_lines(basis: Basis) -> pl.DataFrame:
    """Set-up work by group and year, schema SETUP_LINE."""
    its = basis.program.situation
    names = its.setups["setup_group"].unique().sort().to_list()
    numbers = setups_of(basis.program, basis.selection.choices).tolist()
    rows = [(names[n // its.years], its.first_year + n % its.years) for n in numbers]
    return pl.DataFrame(rows, schema=SETUP_LINE, orient="row")


@returns(LEFT_OUT)
def reasons(basis: Basis) -> pl.DataFrame:
    """Open options that are not in the plan and why, schema LEFT_OUT."""
    program, its = basis.program, basis.program.situation
    chosen = program.options[basis.selection.choices]
    planned = set(chosen[chosen >= 0].tolist())
    with_column = _options_of(program.options)
    within_limits = _options_of(program.options[program.possible])
    owner = its.options["object_id"].to_list()
    served = {owner[n] for n in planned}
    rows = []
    for number, (option, is_open, done) in enumerate(its.options.select("option_id", "open", "done").iter_rows()):
        if not is_open or done or number in planned:
            continue
        columns = (number in with_column, number in within_limits)
        rows.append((option, program.left_out.get(option) or _why(program, number, columns, owner[number] in served)))
    return pl.DataFrame(rows, schema=LEFT_OUT, orient="row")


def _options_of(choices: npt.NDArray[np.int64]) -> set[int]:
    """Options that some of these choices take."""
    return set(choices[choices >= 0].tolist())


def _why(program: Program, option: int, columns: tuple[bool, bool], served: bool) -> str:
    """columns : whether any choice takes the option, and whether any that keeps within every limit by itself."""
    gain, (has_column, within_limits) = program.gain_alone.get(option, 0.0), columns
    if gain <= 0 and not has_column:
        return COSTS_MORE if gain < -solver().feasibility / program.scale else PREVENTS_NOTHING
    if not within_limits:
        return BEYOND
    return OTHER_CHOSEN if served else OTHERS_PREVENT_MORE
