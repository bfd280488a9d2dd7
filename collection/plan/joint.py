"""What may be done to one object, or to a few that are tied, within the plan: every allowed set of (option, year)."""

from collections.abc import Iterator, Sequence
from itertools import combinations, product

from collection.plan.eligible import Option

Job = tuple[Option, int]


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
