"""From a plan in parts to a whole one: one choice a block, and what is least clear chosen anew while the rest is held.

The average of the evaluations that a bound rests on uses every limit as it should; one of them alone uses some too much
and others too little.
"""

import numpy as np
import numpy.typing as npt

from collection.plan.cuts import Bound, Planes
from collection.plan.mend import mend
from collection.plan.model import Freedom, Model, build
from collection.plan.parameters import Planning
from collection.plan.priced import costs
from collection.plan.program import Program, Selection
from collection.plan.solve import Effort, Solved, solve

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
DECIMALS = 6  # of a weight, beyond which the solver's tolerance shows


def mixed(planes: Planes, root: Bound) -> Ints:
    """A choice of each block, in the states of most weight: where the evaluations agree theirs; else, largest first,
    the one after which what is used of all limits lies nearest to the average so far.
    """
    program = planes.program
    off = np.zeros(program.limits.amount.size)
    chosen = []
    for place, (state, rest) in enumerate(zip(root.states.tolist(), root.rest, strict=True)):
        weights = np.array([w for w, _ in rest])
        each = planes.choices_of(place, state, [e for _, e in rest])
        its = each[int(weights.argmax())].copy()
        differing = np.flatnonzero((each != each[0]).any(axis=0))
        if differing.size:
            its[differing], off = _nearest(program, each[:, differing], weights, off)
        chosen.append(its)
    return np.concatenate(chosen)


def _nearest(program: Program, each: Ints, weights: Array, off: Array) -> tuple[Ints, Array]:
    """A choice of each of these blocks, and how far what is used then lies off the average.

    each : evaluations x blocks.
    """
    used = _dense(program, each)
    used = used - np.tensordot(weights, used, axes=1)
    order = np.argsort(-np.abs(used).max(axis=(0, 2)), kind="stable")
    picked = np.zeros(each.shape[1], dtype=np.int64)
    for block in order.tolist():
        tried = off + used[:, block]
        best = int((tried * tried).sum(axis=1).argmin())
        off, picked[block] = tried[best], best
    return each[picked, np.arange(each.shape[1])], off


def _dense(program: Program, choices: Ints) -> Array:
    """What each choice uses of every limit: evaluations x blocks x limits."""
    used = np.zeros((choices.size, program.limits.amount.size))
    flat = choices.ravel()
    np.add.at(used, (np.arange(flat.size)[:, None], program.use_row[flat]), program.use_amount[flat])
    return used.reshape(*choices.shape, -1)


def improved(program: Program, size: int, mended: Selection, wished: Ints, prices: Array, effort: Effort) -> Solved:
    """The mended plan with so many blocks chosen anew: those that lie closest between two choices, or were changed in
    mending.
    """
    lead = leads(program, prices, mended.states)
    lead[mended.choices != wished] = -1.0
    blocks = np.sort(np.argsort(lead, kind="stable")[:size])
    freedom = Freedom(blocks, tuple((int(s),) for s in mended.states), mended.choices)
    return solve(build(program, freedom), effort, mended)


def leads(program: Program, prices: Array, states: Ints) -> Array:
    """By how much the best choice of each block is above its second best, at prices and in states of the places."""
    cost = costs(program, prices)
    net = program.worth_of(np.arange(cost.size), states) - cost
    first = np.maximum.reduceat(net, program.starts[:-1])
    best = net >= np.repeat(first, np.diff(program.starts))
    second = np.maximum.reduceat(np.where(best, -np.inf, net), program.starts[:-1])
    return np.where(np.add.reduceat(best.astype(np.int64), program.starts[:-1]) > 1, 0.0, first - second)


def rounded(
    program: Program, figures: Planning, model: Model, column: Array, prices: Array, effort: Effort
) -> Solved | None:
    """A plan from a solution in which places and set-up work are decided and objects may be in part: each block takes
    its choice of most weight, the plan is mended, its least clear part chosen anew.

    column : of the model's columns. Prices alone open too much set-up work, since each place decides for itself and
    pays a part.
    """
    states = _states(model, column)
    choices = _choices(program, model, column, states, prices)
    mended = mend(program, Selection(choices, states), prices)
    return None if mended is None else improved(program, figures.near_core, mended, choices, prices, effort)


def _states(model: Model, column: Array) -> Ints:
    """State of most weight of each place, among those it may be in."""
    weights, states, at = column[model.at.y : model.at.z], [], 0
    for its in model.freedom.states:
        states.append(its[int(weights[at : at + len(its)].argmax())])
        at += len(its)
    return np.array(states, dtype=np.int64)


def _choices(program: Program, model: Model, column: Array, states: Ints, prices: Array) -> Ints:
    """Choice of most weight of each block in these states; of equal weight the best at prices."""
    cost = costs(program, prices)
    net = program.worth_of(np.arange(cost.size), states) - cost
    weight = np.zeros(cost.size)
    mine = model.state == states[program.places_of(model.choice)]
    weight[model.choice[mine]] = column[: model.at.y][mine]
    order = np.lexsort((-net, -np.round(weight, DECIMALS), program.block_of))
    return np.asarray(order[np.searchsorted(program.block_of[order], np.arange(len(program.blocks)))])
