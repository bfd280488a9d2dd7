"""What a choice is worth: the loss of an object over the horizon, with and without what is done to it and its place.

Losses are means over the years of each hazard; nothing is added up from parts, since treatment and place together are
not their sum.
"""

import numpy as np
import numpy.typing as npt

from collection.plan.exposure import Exposure, Jobs, PlaceStates, exposure
from collection.plan.hazard_table import HazardTable

Array = npt.NDArray[np.float64]
BLOCK = 2_000_000  # figures worked on together; it changes none of them


def losses(table: HazardTable, jobs: Jobs, states: PlaceStates, horizon: float) -> Array:
    """Expected loss [share of the object's value] over `horizon` [year]: rows of jobs x states of the place."""
    lost = np.zeros((jobs.objects.size, len(states.options)))
    per_row = max(1, int(np.diff(table.starts).max(initial=1))) * len(states.options)
    step = max(1, BLOCK // per_row)
    for begin in range(0, jobs.objects.size, step):
        block = jobs[begin : begin + step]
        lost[begin : begin + step] = loss_of(table, exposure(table, block, states, horizon), table.reach)
    return lost


def loss_of(table: HazardTable, exposed: Exposure, reach: Array) -> Array:
    """Loss of each row in each state: 1 - (1 - base)(1 - loss in doing); base: sum of share (1 - prod(1 - f K))."""
    left = share_left(table, exposed)
    parts_left = np.ones((exposed.doing.size, left.shape[1])) * exposed.doing[:, None]
    if exposed.parts.size:
        of_part = 1 - reach[exposed.hazard][:, None] * (1 - left)
        gone = 1 - np.multiply.reduceat(of_part, exposed.parts, axis=0)
        share = table.part_share[exposed.hazard[exposed.parts]][:, None]
        parts_left[exposed.row] *= 1 - np.add.reduceat(share * gone, exposed.rows, axis=0)
    return np.asarray(1 - parts_left)


def share_left(table: HazardTable, exposed: Exposure) -> Array:
    """Mean of exp(-expected events x depth) over the years of each hazard: pairs x states."""
    depth = table.depth[exposed.hazard][:, None]
    chance = table.chance[exposed.hazard][:, None]
    resting, moving = depth * exposed.resting, depth * chance * exposed.moving
    left = np.zeros_like(resting)
    later = exposed.later_resting.any()
    for node, weight in enumerate(table.weights):
        events = table.rates[exposed.hazard, node][:, None] * resting
        if later:
            ageing = table.ageing_depth[exposed.hazard][:, None] * exposed.later_resting
            events = events + table.ageing_rates[exposed.hazard, node][:, None] * ageing
        left += weight * np.exp(-events)
    if later:
        moving = moving + table.ageing_depth[exposed.hazard][:, None] * chance * exposed.later_moving
    return np.asarray(left * np.exp(-moving))
