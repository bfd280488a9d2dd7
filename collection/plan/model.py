"""The table, or the part of it that is free, as a mixed-integer program for HiGHS: one builder for all that is solved.

Variables: x (choice, state of its place), y (place, state), z (set-up group, year), a (money carried to a year). A
choice stands for one state at a time, so that nothing is added up from treatment and place.
"""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from collection.plan.limits import Limits
from collection.plan.program import Program, setups_of, used_by

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Freedom:
    """What may be chosen: blocks that are free, states each place may be in; choices of the other blocks are held.

    held : a choice for each block, read for those that are not free. elastic : price of exceeding each limit, without
    end where it must hold; then what is exceeded is made as cheap as can be, whatever is prevented.
    """

    blocks: Ints
    states: tuple[tuple[int, ...], ...]
    held: Ints | None = None
    elastic: Array | None = None


@dataclass
class Rows:
    """Rows of a matrix as they come, and the bounds of each."""

    starts: list[Ints] = field(default_factory=list)
    index: list[Ints] = field(default_factory=list)
    values: list[Array] = field(default_factory=list)
    lower: list[Array] = field(default_factory=list)
    upper: list[Array] = field(default_factory=list)
    entries: int = 0
    count: int = 0

    def add(self, row: Ints, column: Ints, value: Array, lower: Array, upper: Array) -> None:
        """Add len(lower) rows; `row` numbers them from 0, its entries in any order."""
        order = np.argsort(row, kind="stable")
        sizes = np.bincount(row, minlength=lower.size)
        self.starts.append(self.entries + np.cumsum(sizes) - sizes)
        self.index.append(column[order])
        self.values.append(value[order])
        self.lower.append(lower)
        self.upper.append(upper)
        self.entries += row.size
        self.count += lower.size


@dataclass(frozen=True)
class Layout:
    """Where the columns of each kind begin."""

    y: int
    z: int
    carried: int
    extra: int
    end: int


@dataclass(frozen=True)
class Model:
    """A program ready for the solver, and what each of its columns stands for.

    choice, state : of each x. setups : (group, year) of each z. at : where columns of each kind begin; those before
    `at.carried` are whole numbers. cost : of each column, to be made as large as can be.
    """

    program: Program
    freedom: Freedom
    choice: Ints
    state: Ints
    setups: Ints
    at: Layout
    cost: Array
    upper: Array
    rows: Rows
    held_worth: float


def build(program: Program, freedom: Freedom) -> Model:
    """The model of what is free, the rest held; held blocks stand in places with one state left."""
    choice, state = _columns(program, freedom)
    held = _held(program, freedom)
    already = setups_of(program, held)
    setups = np.setdiff1d(setups_of(program, np.unique(choice)), already)
    at = _layout(program, freedom, choice.size, setups.size)
    cost, upper = np.zeros(at.end), np.ones(at.end)
    upper[at.carried :] = np.inf
    if freedom.elastic is None:
        cost[: at.y] = program.worth_at(choice, state)
        upper[: at.y] = program.possible[choice]
    else:
        may = np.isfinite(freedom.elastic)
        cost[at.extra :] = -np.where(may, freedom.elastic, 0.0)
        upper[at.extra :] = np.where(may, np.inf, 0.0)
    rows = Rows()
    _one_choice_each(rows, program, freedom, choice, state)
    _set_up_before(rows, program, choice, setups, at.z)
    fixed = used_by(program, held) + program.setup_use[already].sum(axis=0)
    _within_limits(rows, program, freedom, choice, setups, at, fixed)
    _carried_once(rows, program.limits, at.carried)
    worth = program.worth_of(held, np.array([s[0] for s in freedom.states])).sum() if held.size else 0.0
    return Model(program, freedom, choice, state, setups, at, cost, upper, rows, float(worth))


def _layout(program: Program, freedom: Freedom, choices: int, setups: int) -> Layout:
    z = choices + sum(map(len, freedom.states))
    carried = z + setups
    extra = carried + int(program.limits.within.sum())
    return Layout(choices, z, carried, extra, extra + (0 if freedom.elastic is None else program.limits.amount.size))


def _columns(program: Program, freedom: Freedom) -> tuple[Ints, Ints]:
    """Each choice of the free blocks in each state its place may be in."""
    first, counts = program.starts[freedom.blocks], np.diff(program.starts)[freedom.blocks]
    of = np.repeat(np.arange(freedom.blocks.size), counts)
    choices = first[of] + np.arange(of.size) - np.repeat(np.cumsum(counts) - counts, counts)
    place = program.place_of[freedom.blocks][of]
    many = np.array([len(s) for s in freedom.states], dtype=np.int64)[place]
    repeated = np.repeat(np.arange(choices.size), many)
    nth = np.arange(repeated.size) - np.repeat(np.cumsum(many) - many, many)
    states = np.concatenate([np.array(s, dtype=np.int64) for s in freedom.states])
    begins = np.cumsum([0, *map(len, freedom.states)])[:-1]
    return choices[repeated], states[begins[place[repeated]] + nth]


def _held(program: Program, freedom: Freedom) -> Ints:
    """Choices of the blocks that are not free."""
    if freedom.held is None:
        return np.zeros(0, dtype=np.int64)
    mask = np.ones(len(program.blocks), dtype=np.bool_)
    mask[freedom.blocks] = False
    return freedom.held[mask]


def _one_choice_each(rows: Rows, program: Program, freedom: Freedom, choice: Ints, state: Ints) -> None:
    """One state a place; one choice a block, in that state."""
    block = program.block_of[choice]
    many = [len(s) for s in freedom.states]
    each = np.repeat(np.arange(len(many)), many)
    y = np.arange(each.size) + choice.size
    one = np.ones(len(many))
    rows.add(each, y, np.ones(each.size), one, one)
    pairs = [(q, s) for q, its in enumerate(freedom.states) for s in its]
    position = {pair: choice.size + n for n, pair in enumerate(pairs)}
    keys, row = np.unique(np.stack([block, state], axis=1), axis=0, return_inverse=True)
    places = program.place_of[keys[:, 0]]
    ys = np.array([position[q, s] for q, s in zip(places.tolist(), keys[:, 1].tolist(), strict=True)], dtype=np.int64)
    zero = np.zeros(len(keys))
    rows.add(
        np.concatenate([row.ravel(), np.arange(len(keys))]), np.concatenate([np.arange(choice.size), ys]),
        np.concatenate([np.ones(choice.size), -np.ones(len(keys))]), zero, zero,
    )  # fmt: skip


def _set_up_before(rows: Rows, program: Program, choice: Ints, setups: Ints, z_from: int) -> None:
    """What needs set-up work is chosen only where that work is done: one row a block and (group, year)."""
    needs = program.setup[choice]
    column, job = np.nonzero(np.isin(needs, setups) & (needs >= 0))
    if not column.size:
        return
    pairs = np.unique(np.stack([program.block_of[choice[column]], needs[column, job], column], axis=1), axis=0)
    keys, row = np.unique(pairs[:, :2], axis=0, return_inverse=True)
    z = z_from + np.searchsorted(setups, keys[:, 1])
    zero = np.zeros(len(keys))
    rows.add(
        np.concatenate([row.ravel(), np.arange(len(keys))]), np.concatenate([pairs[:, 2], z]),
        np.concatenate([np.ones(len(pairs)), -np.ones(len(keys))]), zero - np.inf, zero,
    )  # fmt: skip


def _within_limits(
    rows: Rows, program: Program, freedom: Freedom, choice: Ints, setups: Ints, at: Layout, fixed: Array
) -> None:
    """Use of every limit, with money carried, and what exceeds it where limits are elastic."""
    row, column, value = [program.use_row[choice].ravel()], [], [program.use_amount[choice].ravel()]
    column.append(np.repeat(np.arange(choice.size), program.use_row.shape[1]))
    used = [program.place_use[q][list(its)] for q, its in enumerate(freedom.states)] + [program.setup_use[setups]]
    y_and_z, limit = np.nonzero(np.concatenate(used))
    row.append(limit)
    column.append(at.y + y_and_z)
    value.append(np.concatenate(used)[y_and_z, limit])
    _, year = np.nonzero(program.limits.within)
    row.append(year)
    column.append(at.carried + np.arange(year.size))
    value.append(-np.ones(year.size))
    extra = np.arange(at.end - at.extra)
    row, column, value = [*row, extra], [*column, at.extra + extra], [*value, -np.ones(extra.size)]
    amount = program.limits.amount - fixed
    entries = _nonzero(np.concatenate(row), np.concatenate(column), np.concatenate(value))
    rows.add(*entries, np.full(amount.size, -np.inf), amount)


def _nonzero(row: Ints, column: Ints, value: Array) -> tuple[Ints, Ints, Array]:
    """Entries that are not 0, those of one row and column added."""
    keys, at = np.unique(np.stack([row, column], axis=1)[value != 0], axis=0, return_inverse=True)
    added: Array = np.bincount(at.ravel(), value[value != 0], minlength=len(keys)).astype(np.float64)
    return keys[:, 0], keys[:, 1], added


def _carried_once(rows: Rows, its: Limits, first: int) -> None:
    """Money that is carried is spent once."""
    fund, _ = np.nonzero(its.within)
    if fund.size:
        rows.add(fund, first + np.arange(fund.size), np.ones(fund.size), its.carried - np.inf, its.carried)
