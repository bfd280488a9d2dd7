"""All plans of a small table, one by one."""

from itertools import product

import numpy as np

from collection.plan.parameters import solver
from collection.plan.program import Selection, is_feasible, total_worth


def every_plan(program):
    """All selections: a choice of each block and a state of each place."""
    blocks = [range(a, b) for a, b in zip(program.starts[:-1], program.starts[1:], strict=True)]
    states = [range(len(place.states)) for place in program.places]
    for choices in product(*blocks):
        for its in product(*states):
            yield Selection(np.array(choices, dtype=np.int64), np.array(its))


def feasible_worths(program):
    """What every plan that fits prevents, best first, in the plan's unit."""
    fits = solver().feasibility
    worths = (total_worth(program, s) / program.scale for s in every_plan(program) if is_feasible(program, s, fits))
    return sorted(worths, reverse=True)


def best_worth(program):
    """What the best plan prevents, None where none fits: every combination at once, use and worth added up in arrays.

    Set-up work is counted as sets of bits, so that there may be up to a million combinations.
    """
    best = None
    for states in product(*(range(len(place.states)) for place in program.places)):
        worth, use, work = np.zeros(1), np.zeros((1, program.limits.amount.size)), np.zeros(1, dtype=np.int64)
        for place, state in enumerate(states):
            use = use + program.place_use[place][state]
        for first, last in zip(program.starts[:-1], program.starts[1:], strict=True):
            its = np.arange(first, last)
            each = np.zeros((its.size, use.shape[1]))
            np.add.at(each, (np.arange(its.size)[:, None], program.use_row[its]), program.use_amount[its])
            bits = np.where(program.setup[its] >= 0, 1 << np.maximum(program.setup[its], 0), 0)
            worth = (worth[:, None] + program.worth_of(its, np.array(states))).ravel()
            use = (use[:, None] + each).reshape(-1, use.shape[1])
            work = (work[:, None] | np.bitwise_or.reduce(bits, axis=1)).ravel()
            fine = (use <= program.limits.amount + 1e-9).all(axis=1)
            worth, use, work = worth[fine], use[fine], work[fine]
        opened = (work[:, None] >> np.arange(len(program.setup_use))) & 1
        fine = (use + opened @ program.setup_use <= program.limits.amount + 1e-9).all(axis=1)
        if fine.any():
            best = max(float(worth[fine].max()), -np.inf if best is None else best)
    return None if best is None else best / program.scale
