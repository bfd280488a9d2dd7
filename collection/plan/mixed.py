"""From the evaluations that a bound rests on to one choice a block: their average uses every limit as it should, one of
them alone uses some too much and others too little.
"""

import numpy as np
import numpy.typing as npt

from collection.plan.cuts import Bound, Planes
from collection.plan.program import Program

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


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
