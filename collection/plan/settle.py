"""Which of several plans of equal worth: the smaller object, then the smaller option, then the earlier year."""

import numpy as np

from collection.plan.mend import Room
from collection.plan.program import Program, Selection


def settle(program: Program, selection: Selection) -> Selection:
    """The same worth in smaller numbers: each block in order takes its first choice of equal worth that fits, and of
    blocks that could stand for each other those that come first are chosen.
    """
    room = Room(program, _first_of_alike(program, selection))
    every = np.arange(program.options.shape[0])
    worth = program.worth_of(every, room.states)
    chosen_worth = worth[room.choices]
    block = program.block_of
    equal = np.flatnonzero((worth == chosen_worth[block]) & (every != room.choices[block]))
    key = (program.years[equal], program.options[equal])
    for choice in equal[np.lexsort((key[0].sum(axis=1), key[1].max(axis=1), block[equal]))].tolist():
        at = int(block[choice])
        if _smaller(program, choice, int(room.choices[at])):
            room.fits(at, choice)
    return room.selection


def _smaller(program: Program, one: int, other: int) -> bool:
    """Whether a choice comes before another of the same block: its options first, then its years."""
    return (program.options[one].tolist(), program.years[one].tolist()) < (
        program.options[other].tolist(), program.years[other].tolist(),
    )  # fmt: skip


def _first_of_alike(program: Program, selection: Selection) -> Selection:
    """Of blocks with the same choices to the last figure, the first in order get what was chosen for them, in order."""
    choices = selection.choices.copy()
    alike: dict[bytes, list[int]] = {}
    for block in _candidates(program, selection):
        alike.setdefault(_likeness(program, block), []).append(block)
    for blocks in alike.values():
        if len(blocks) > 1:
            offsets = sorted((int(choices[b] - program.starts[b]) for b in blocks), key=lambda n: (n == 0, n))
            for block, offset in zip(sorted(blocks, key=lambda b: program.blocks[b]), offsets, strict=True):
                choices[block] = program.starts[block] + offset
    return Selection(choices, selection.states)


def _candidates(program: Program, selection: Selection) -> list[int]:
    """Blocks that have as many choices, and worth as much in all, as another one."""
    sums = np.add.reduceat(program.worth_of(np.arange(program.options.shape[0]), selection.states), program.starts[:-1])
    keys = np.stack([np.diff(program.starts), program.place_of, np.round(sums)], axis=1)
    _, at, counts = np.unique(keys, axis=0, return_inverse=True, return_counts=True)
    return np.flatnonzero(counts[at.ravel()] > 1).tolist()


def _likeness(program: Program, block: int) -> bytes:
    """All figures of a block's choices but the numbers of its options."""
    where = slice(int(program.starts[block]), int(program.starts[block + 1]))
    place = int(program.place_of[block])
    first = program.place_choices[place].start
    worth = program.worth[place][:, where.start - first : where.stop - first]
    figures = (worth, program.years[where], program.use_row[where], program.use_amount[where], program.setup[where])
    return b"|".join(np.ascontiguousarray(f).tobytes() for f in figures)
