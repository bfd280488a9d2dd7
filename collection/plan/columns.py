"""Blocks of objects that are chosen for together, and every choice that each has, before limits and musts.

What may be done to one object, or to a few that are tied, is every allowed set of (option, year).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
import numpy.typing as npt

from collection.plan.eligible import Eligible, Option
from collection.plan.situation import Situation

Job = tuple[Option, int]
Ints = npt.NDArray[np.int64]


def joint_choices(options: Sequence[Option], most: int) -> Iterator[tuple[Job, ...]]:
    """Nothing, then each option alone, then what may be done together, at most so many jobs in all.

    options : of the object, or of all objects of a group that is tied.
    """
    for size in range(min(most, len(options)) + 1):
        for chosen in combinations(options, size):
            if _allowed(chosen):
                yield from _in_years(chosen)


def _allowed(chosen: Sequence[Option]) -> bool:
    """Whether these may be done together: none excludes another, what is needed is there."""
    ids = {o.option_id for o in chosen}
    if any(set(o.needs) - ids or o.excludes & ids for o in chosen):
        return False
    return all(a.object != b.object or _joined(a, b) for a, b in combinations(chosen, 2))


def _joined(a: Option, b: Option) -> bool:
    """Two options of one object: alternatives, unless either says otherwise or needs the other."""
    return b.option_id in {*a.together, *a.needs} or a.option_id in {*b.together, *b.needs}


def _in_years(chosen: Sequence[Option]) -> Iterator[tuple[Job, ...]]:
    """Each way to put them into years, what is needed before or in the same year."""
    for years in product(*(o.years for o in chosen)):
        year = {o.option_id: y for o, y in zip(chosen, years, strict=True)}
        if all(year[n] <= year[o.option_id] for o in chosen for n in o.needs):
            yield tuple(zip(chosen, years, strict=True))


@dataclass(frozen=True)
class Block:
    """Objects chosen for together, their options, the group of places and the set-up group (-1) they are in."""

    place: int
    group: int
    objects: tuple[str, ...]
    options: tuple[Option, ...]

    @property
    def simple(self) -> bool:
        """Whether its options are plain alternatives of one object."""
        return len(self.objects) == 1 and not any(o.needs or o.together for o in self.options)


@dataclass(frozen=True)
class Columns:
    """Choices of blocks in order: how many each block has, and the options and plan years of each, padded with -1."""

    counts: Ints
    options: Ints
    years: Ints


def setup_groups(situation: Situation) -> tuple[list[str], Ints]:
    """Names of the set-up groups, and the number of the one of each option; -1: none, as for the last element."""
    names = situation.setups["setup_group"].unique().sort().to_list()
    number = {name: n for n, name in enumerate(names)}
    of = [number.get(name, -1) for name in situation.options["setup_group"]]
    return names, np.array([*of, -1], dtype=np.int64)


def blocks(situation: Situation, may: Eligible, place_of: Mapping[str, int]) -> list[Block]:
    """Blocks in the order of place, set-up group and objects; objects that have no option and no place are none."""
    _, group_of = setup_groups(situation)
    tied = {o for group in may.tied for o in group}
    single = [(o,) for o in situation.objects["object_id"] if o not in tied and (o in may.options or o in place_of)]
    every = []
    for objects in (*may.tied, *single):
        options = tuple(o for number in objects for o in may.options.get(number, ()))
        groups = [int(group_of[o.number]) for o in options]
        often = max(sorted(set(groups)), key=lambda g: (groups.count(g) if g >= 0 else 0, g), default=-1)
        every.append(Block(place_of.get(objects[0], 0), often, objects, options))
    return sorted(every, key=lambda b: (b.place, b.group, b.objects))


def columns(every: Sequence[Block], most: int) -> Columns:
    """Every choice of every block, at most so many jobs together."""
    width = 1 if all(block.simple for block in every) else most
    counts: list[int] = []
    options: list[int] = []
    years: list[int] = []
    for block in every:
        before = len(options)
        for job in _alone(block, width) if block.simple else _together(block, most):
            options += job[0]
            years += job[1]
        counts.append((len(options) - before) // width)
    shape = (-1, width)
    return Columns(
        np.array(counts, dtype=np.int64), *(np.array(x, dtype=np.int64).reshape(shape) for x in (options, years))
    )


def _alone(block: Block, width: int) -> Iterator[tuple[list[int], list[int]]]:
    """Nothing, and each option in each year."""
    spare = width - 1
    yield [-1] * width, [0] * width
    for option in block.options:
        for year in option.years:
            yield [option.number] + [-1] * spare, [year] + [0] * spare


def _together(block: Block, most: int) -> Iterator[tuple[list[int], list[int]]]:
    """Every allowed set of options, each in a year."""
    for jobs in joint_choices(block.options, most):
        spare = most - len(jobs)
        yield [o.number for o, _ in jobs] + [-1] * spare, [year for _, year in jobs] + [0] * spare
