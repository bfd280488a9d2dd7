"""How often each line stays in the plan over the ranges of rates and extents, with the prices of the limits held.

At held prices objects are separate, so that one evaluation of the table answers a draw; some draws are solved again in
full, which says how far that can be trusted. Choices that are worth nothing at the middle of the ranges have no column
here either; a band of extents is not cut at its ends.
"""

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.choose import choose
from collection.plan.described import Basis
from collection.plan.exposure import Exposure, Jobs, exposure
from collection.plan.hazard_table import AGEING, YEARS, HazardTable, hazard_rows
from collection.plan.parameters import Planning, planning
from collection.plan.places import Place
from collection.plan.plan import Plan
from collection.plan.priced import price
from collection.plan.program import Program, Selection, jobs_of
from collection.plan.stopping import asked_to_stop
from collection.plan.worth import loss_of
from collection.risk.draws import Drawing
from collection.risk.parameters import Lines, Positive, read
from collection.risk.years import LIMIT_90, sigmas

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]
# Every option that some draw plans or the plan has. in_draws: in what share of the draws it is planned, in any year.
IN_DRAWS = pl.Schema({"option_id": pl.String, "in_draws": pl.Float64, "planned": pl.Boolean})
LEAST = 1e-12  # keeps a quotient finite


@dataclass(frozen=True)
class Stability:
    """rows : schema IN_DRAWS, prices held. draws : how many there were, fewer than asked for where the clock or
    somebody stopped them. solved : of them solved again in full; agree : of their answers about options (in or out),
    the share that is the same with prices held, null where none was solved.
    """

    rows: pl.DataFrame
    draws: int
    stopped: bool
    solved: int
    agree: float | None


def stability(plan: Plan, *, figures: Planning | None = None, seconds: float | None = None) -> Stability:
    """How often each line is in, over draws of rates and extents.

    figures : else those of plan.toml. seconds : for all draws and full solves together; at least one draw is made.
    """
    figures = figures or planning()
    redraw = Redraw(plan.basis, figures)
    ends = time.monotonic() + (figures.seconds if seconds is None else seconds)
    held: list[Flags] = []
    while len(held) < figures.draws and (not held or _goes_on(ends)):
        program = redraw.program(len(held))
        held.append(_planned(program, _at_prices(program, plan.basis.prices)))
    same: list[float] = []
    while len(same) < min(figures.full_solves, len(held)) and _goes_on(ends):
        program = redraw.program(len(same))
        full = _planned(program, _solved(program, figures, plan.basis.selection, ends))
        same.append(float((full == held[len(same)])[redraw.asked].mean()))
    rows = _rows(plan, np.mean(held, axis=0))
    agree = float(np.mean(same)) if same and redraw.asked.any() else None
    return Stability(rows, len(held), len(held) < figures.draws, len(same), agree)


def _goes_on(ends: float) -> bool:
    return not asked_to_stop() and time.monotonic() < ends


class Redraw:
    """The table of a plan with rates and extents drawn anew; how long hazards act does not change from draw to draw."""

    def __init__(self, basis: Basis, figures: Planning) -> None:
        """Draws are keyed by the names of rows and objects, so that order of rows changes none."""
        self._program = basis.program
        its = basis.program.situation
        self.options = its.options.height + its.place_options.height
        self._drawing = Drawing(first=0, draws=figures.draws, seed=figures.seed)
        objects = [o for block in basis.program.blocks for o in block]
        self._hazards = _Drawn(hazard_rows(its), objects, self._drawing)
        self._acting = list(_acting(basis.program))
        self.asked = np.zeros(self.options, dtype=np.bool_)
        self.asked[basis.program.options[basis.program.options >= 0]] = True
        used = [its.options.height + o for p in basis.program.places for s in p.states for o, _ in s]
        self.asked[np.array(used, dtype=np.int64)] = True

    def program(self, number: int) -> Program:
        """The table as one draw has it."""
        table = self._hazards.table(self._program.table, number)
        worth = tuple(_worth(self._program, table, acting) for acting in self._acting)
        return replace(self._program, worth=worth, table=table)


@dataclass(frozen=True)
class _Acting:
    """How long hazards act in each state of a place: of its choices, and of its blocks with nothing done; and what the
    choices are worth by what was given, whatever the hazards.
    """

    choices: Ints
    of: Ints
    exposed: Exposure
    block: Ints
    of_nothing: Ints
    untouched: Exposure
    value: Array
    value_untouched: Array
    given: Array


def _acting(program: Program) -> Iterator[_Acting]:
    values = program.situation.values
    value = np.array([values[o] for o in program.situation.objects["object_id"]], dtype=np.float64)
    given = np.append(program.situation.options["given_worth"].fill_null(0.0).to_numpy(), 0.0)
    for place, where in zip(program.places, program.place_choices, strict=True):
        choices = np.arange(where.start, where.stop)
        block = program.block_of[choices]
        jobs, of = jobs_of(program, choices, program.options[choices], program.years[choices])
        first = program.starts[:-1][np.unique(block)]
        none = np.full_like(program.options[first], -1)
        alone, of_nothing = jobs_of(program, first, none, none * 0)
        exposed = _exposed(program, jobs, place)
        untouched = _exposed(program, alone, replace(place, states=place.states[:1]))
        yield _Acting(
            choices, of, exposed, np.unique(block, return_inverse=True)[1].ravel(), of_nothing, untouched,
            value[jobs.objects], value[alone.objects], given[program.options[choices]].sum(axis=1),
        )  # fmt: skip


def _exposed(program: Program, jobs: Jobs, place: Place) -> Exposure:
    return exposure(program.table, jobs, place.arrays(), program.situation.horizon)


def _worth(program: Program, table: HazardTable, its: _Acting) -> Array:
    """Worth of the choices of one place in each of its states, in the units of the table."""
    lost = loss_of(table, its.exposed, table.reach) * its.value[:, None]
    summed = np.stack([np.bincount(its.of, column, minlength=its.choices.size) for column in lost.T])
    nothing = loss_of(table, its.untouched, table.reach)[:, 0] * its.value_untouched
    of_block = np.bincount(its.of_nothing, nothing, minlength=int(its.block.max(initial=-1)) + 1)
    worth: Array = of_block[its.block] - summed + its.given
    return worth * program.scale


class _Drawn:
    """Rates, extents and chances of a move of each hazard by draw: z = sqrt(c) z_row + sqrt(1 - c) z_hazard."""

    def __init__(self, every: pl.DataFrame, objects: Sequence[str], drawing: Drawing) -> None:
        """every : as of `hazard_rows`; only hazards of these objects are drawn."""
        rows = every.filter(pl.col("object_id").is_in(list(objects)))
        self._at = rows["hazard"].to_numpy().astype(np.int64)
        own, row = _normals(rows, drawing)
        common = read(Lines, "lines", "lines").common_share
        self._z, self._x = np.sqrt(common) * row + np.sqrt(1 - common) * own[:, 0], own[:, 1]
        self._moves = drawing.normals("row moves").astype(np.float64) / LIMIT_90
        self._range = float(read(Positive, "rates", "per_move", "range"))
        self._years = _spreads(rows.select(YEARS))
        self._ageing = _spreads(rows.select(pl.coalesce(a, y) for a, y in zip(AGEING, YEARS, strict=True)))
        self._modifier = rows["modifier"].to_numpy().astype(np.float64)
        reach = [rows[f"reach_{end}"].fill_null(rows["reach"]).to_numpy() for end in ("low", "likely", "high")]
        self._reach = [np.maximum(r.astype(np.float64), LEAST) for r in reach]

    def table(self, table: HazardTable, number: int) -> HazardTable:
        """The table with the figures of one draw."""
        z, x = self._z[:, number].astype(np.float64), self._x[:, number].astype(np.float64)
        low, likely, high = self._reach
        reach = table.reach.copy()
        reach[self._at] = np.minimum(likely * np.where(x < 0, likely / low, high / likely) ** (x / LIMIT_90), 1.0)
        return replace(
            table, rates=self._rate(table, self._years, z), ageing_rates=self._rate(table, self._ageing, z),
            reach=reach, weights=np.ones(1), chance=table.chance * self._range ** self._moves[number],
        )  # fmt: skip

    def _rate(self, table: HazardTable, years: tuple[Array, Array, Array], z: Array) -> Array:
        likely, below, above = years
        rates = np.zeros((table.reach.size, 1))
        rates[self._at, 0] = self._modifier * np.exp(-np.where(z < 0, below, above) * z) / likely
        return rates


def _normals(rows: pl.DataFrame, drawing: Drawing) -> tuple[Floats, Floats]:
    """Normals of each hazard for its years and its extent, and those of its row of the rates, else its own."""
    shared = {name: drawing.normals(f"row {name}") for name in rows["rate_row"].drop_nulls().unique().sort()}
    named = rows.select(
        pl.format("{} {} {}", "object_id", "part", pl.coalesce("hazard_id", "option_id")), "rate_row"
    ).with_row_index("at")
    own = np.zeros((rows.height, 2, drawing.draws), dtype=np.float32)
    row = np.zeros((rows.height, drawing.draws), dtype=np.float32)
    for at, name, rate_row in named.iter_rows():
        own[at] = drawing.normals(name, 2)
        row[at] = shared.get(rate_row, own[at, 0])
    return own, row


def _spreads(years: pl.DataFrame) -> tuple[Array, Array, Array]:
    """Likely years, and the spread of their logarithm below and above, by hazard."""
    of = {triple: sigmas(*triple) for triple in years.unique().iter_rows()}
    both = np.array([of[triple] for triple in years.iter_rows()], dtype=np.float64).reshape(years.height, 2)
    return years[years.columns[1]].to_numpy().astype(np.float64), both[:, 0], both[:, 1]


def _at_prices(program: Program, prices: Array) -> Selection:
    """What is best at prices: a state of each place, a choice of each block."""
    priced = price(program, prices)
    states = np.array([int(values.argmax()) for values in priced.values()], dtype=np.int64)
    chosen = [c[s] for c, s in zip(priced.choices, states.tolist(), strict=True)]
    return Selection(np.concatenate(chosen), states)


def _solved(program: Program, figures: Planning, start: Selection, ends: float) -> Selection:
    answer = choose(program, figures, max(0.0, ends - time.monotonic()), [start])
    return start if answer.selection is None else answer.selection


def _planned(program: Program, selection: Selection) -> Flags:
    """Which options a selection plans, those on objects before those on places."""
    its = program.situation
    planned = np.zeros(its.options.height + its.place_options.height, dtype=np.bool_)
    chosen = program.options[selection.choices]
    planned[chosen[chosen >= 0]] = True
    for place, state in zip(program.places, selection.states.tolist(), strict=True):
        for option, _ in place.states[state]:
            planned[its.options.height + option] = True
    return planned


@returns(IN_DRAWS)
def _rows(plan: Plan, share: Array) -> pl.DataFrame:
    its = plan.basis.program.situation
    names = pl.concat([its.options["option_id"], its.place_options["option_id"]])
    planned = pl.concat([plan.lines["option_id"], plan.places["option_id"]])
    rows = pl.DataFrame({"option_id": names, "in_draws": share}).with_columns(
        planned=pl.col("option_id").is_in(planned.implode())
    )
    there = rows.filter((pl.col("in_draws") > 0) | pl.col("planned"))
    return there.sort(-pl.col("in_draws"), "option_id").select(pl.col(n).cast(t) for n, t in IN_DRAWS.items())
