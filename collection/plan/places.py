"""Places with options: which hang together since objects stand in both, and every state such a group may be in."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
import polars as pl

from collection.plan.eligible import components
from collection.plan.exposure import PlaceStates
from collection.plan.parameters import Planning
from collection.plan.situation import Situation

State = tuple[tuple[int, int], ...]  # place options by number, each with its plan year


@dataclass(frozen=True)
class Place:
    """A group of place options that act on the same objects, and the states it may be in: the first is nothing."""

    options: tuple[str, ...]
    states: tuple[State, ...]

    def arrays(self) -> PlaceStates:
        """The states as arrays."""
        width = max(1, *(len(s) for s in self.states))
        padded = [[*s, *[(-1, 0)] * (width - len(s))] for s in self.states]
        both = np.array(padded, dtype=np.int64).reshape(len(padded), width, 2)
        return PlaceStates(both[..., 0], both[..., 1])


NO_PLACE = Place((), ((),))


def places(
    situation: Situation, tied: Iterable[Sequence[str]], figures: Planning
) -> tuple[list[Place], Mapping[str, int]]:
    """The groups of places, the first one that with no option, and the number of the group each object stands in."""
    options = situation.place_options.with_row_index("number").filter("open")
    acting = set(situation.place_effects["option_id"])
    usable = {o: n for o, n in options.select("option_id", "number").iter_rows() if o in acting}
    there = situation.protected.filter(pl.col("option_id").is_in(list(usable)))
    links = [(OPTION + o, OBJECT + number) for o, number in there.iter_rows()]
    links += [(OBJECT + a, OBJECT + b) for group in tied for a, b in zip(group, group[1:], strict=False)]
    groups: list[Place] = [NO_PLACE]
    number: dict[str, int] = {}
    for members in components(links):
        mine = [m.removeprefix(OPTION) for m in members if m.startswith(OPTION)]
        if mine:
            number |= {m.removeprefix(OBJECT): len(groups) for m in members if m.startswith(OBJECT)}
            groups.append(Place(tuple(mine), _states(situation, mine, usable, figures)))
    return groups, number


OPTION, OBJECT = "option ", "object "


def _states(situation: Situation, mine: list[str], usable: dict[str, int], figures: Planning) -> tuple[State, ...]:
    """Nothing, each option in each year, then options together; fewer together where these would be too many."""
    rows = situation.place_options.select("option_id", "location_id", "together_with").iter_rows()
    known = {o: (location, set(together)) for o, location, together in rows}
    states: list[State] = []
    for size in range(min(figures.tied_most, len(mine)) + 1):
        chosen = [c for c in combinations(mine, size) if _allowed(c, known)]
        more = [s for c in chosen for s in _in_years(c, usable, situation.years)]
        if size > 1 and len(states) + len(more) > figures.states_most:
            break
        states += more
    return tuple(states)


def _allowed(chosen: Sequence[str], known: Mapping[str, tuple[str, set[str]]]) -> bool:
    """Options of one place are alternatives unless either names the other; those of two places may both be done."""
    return all(known[a][0] != known[b][0] or b in known[a][1] or a in known[b][1] for a, b in combinations(chosen, 2))


def _in_years(chosen: Sequence[str], usable: dict[str, int], years: int) -> list[State]:
    numbers = [usable[o] for o in chosen]
    return [tuple(zip(numbers, each, strict=True)) for each in product(range(1, years + 1), repeat=len(chosen))]
