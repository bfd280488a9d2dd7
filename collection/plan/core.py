"""The part of a plan that is least clear, chosen anew by the solver while the rest is held."""

import numpy as np
import numpy.typing as npt

from collection.plan.mend import mend
from collection.plan.model import Freedom, Model, build
from collection.plan.parameters import Planning
from collection.plan.priced import costs
from collection.plan.program import Program, Selection
from collection.plan.solve import Effort, Solved, solve

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
DECIMALS = 6  # of a weight, beyond which the solver's tolerance shows


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
