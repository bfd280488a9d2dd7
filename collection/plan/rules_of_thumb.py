"""Two plans that a person would make without a solver, under the same limits: what the plan is compared with, and from
which it starts.
"""

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.mend import Room
from collection.plan.parameters import solver
from collection.plan.program import Program, Selection, is_feasible, total_worth

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
# What a rule of thumb prevents, in the plan's unit; null where it meets no must in time.
RULE = pl.Schema({"name": pl.String, "prevented": pl.Float64})
HIGHEST_RISK, BEST_PER_COST = "highest risk first", "best worth per cost first"


class Singles:
    """Choices of one option each: by option, the block and the choice of each year, earliest first."""

    def __init__(self, program: Program) -> None:
        """Read from the table."""
        self.program = program
        alone = np.flatnonzero((program.options >= 0).sum(axis=1) == 1)
        worth = program.worth_at(alone, np.zeros(alone.size, dtype=np.int64))
        order = np.lexsort((program.years[alone].max(axis=1), program.options[alone].max(axis=1)))
        self.of: dict[int, list[int]] = {}
        for option, choice in zip(
            program.options[alone][order].max(axis=1).tolist(), alone[order].tolist(), strict=True
        ):
            self.of.setdefault(option, []).append(choice)
        self._worth: dict[int, float] = dict(zip(alone.tolist(), worth.tolist(), strict=True))
        self._block = program.block_of
        self._joint: dict[int, dict[frozenset[tuple[int, int]], int]] = {}

    def worth(self, option: int) -> float:
        """Worth of an option alone in its first year, the place as it is."""
        return self._worth[self.of[option][0]]

    def block(self, option: int) -> int:
        """Block that an option belongs to."""
        return int(self._block[self.of[option][0]])

    def choices(self, option: int, current: int) -> Iterable[int]:
        """Choices that add an option to what its block does now, earliest first."""
        program = self.program
        if current < 0 or program.options[current, 0] < 0:
            return self.of[option]
        if program.options.shape[1] == 1:
            return ()
        block, done = self.block(option), self._jobs(current)
        if block not in self._joint:
            every = range(int(program.starts[block]), int(program.starts[block + 1]))
            self._joint[block] = {self._jobs(choice): choice for choice in every}
        years = range(1, program.situation.years + 1)
        added = (self._joint[block].get(done | {(option, year)}) for year in years)
        return [choice for choice in added if choice is not None]

    def _jobs(self, choice: int) -> frozenset[tuple[int, int]]:
        pairs = zip(self.program.options[choice].tolist(), self.program.years[choice].tolist(), strict=True)
        return frozenset(pair for pair in pairs if pair[0] >= 0)


def highest_risk_first(program: Program, singles: Singles) -> Selection | None:
    """Objects by what they are expected to lose, each its best option in the first year that fits; no place options."""
    objects = program.situation.options["object_id"].to_list()
    risks = dict(zip(program.situation.objects["object_id"], program.loss_now.tolist(), strict=True))
    best: dict[str, int] = {}
    for option in sorted(singles.of, key=lambda o: (-singles.worth(o), o)):
        best.setdefault(objects[option], option)
    order = [best[o] for o in sorted(best, key=lambda o: (-risks[o], o))]
    return _planned(program, singles, [(option, -1) for option in order])


def best_per_cost_first(program: Program, singles: Singles) -> Selection | None:
    """Options and place options by worth alone in their first year for money and priced hours."""
    price = program.situation.hour_price
    cost = _costs(program, program.situation.options, price)
    place_cost = _costs(program, program.situation.place_options, price)
    ranked = [(_ratio(singles.worth(o), cost[o]), 0, o) for o in singles.of]
    for place, its in enumerate(program.places):
        for state, options in enumerate(its.states):
            if len(options) == 1 and options[0][1] == 1:
                worth = _protects(program, place, state)
                ranked.append((_ratio(worth, place_cost[options[0][0]]), place, options[0][0]))
    order = sorted(ranked, key=lambda r: (-r[0], r[1] > 0, r[2]))
    return _planned(program, singles, [(option, place if place else -1) for _, place, option in order])


def _ratio(worth: float, cost: float) -> float:
    """Worth for its cost; what costs nothing and is worth anything comes first."""
    if cost > 0:
        return worth / cost
    return np.inf if worth > 0 else 0.0


def _costs(program: Program, options: pl.DataFrame, hour_price: float) -> list[float]:
    hours = dict(program.situation.option_hours.group_by("option_id").agg(pl.col("hours").sum()).iter_rows())
    return [money + hours.get(o, 0.0) * hour_price for o, money in options.select("option_id", "money").iter_rows()]


def _protects(program: Program, place: int, state: int) -> float:
    """Worth of a place in a state, its objects left as they are: blocks that must choose something count none."""
    where = program.place_choices[place]
    mine = np.flatnonzero(program.place_of == place)
    firsts = program.starts[mine]
    plain = firsts[program.options[firsts, 0] < 0] - where.start
    return float(program.worth[place][state, plain].sum())


def _planned(program: Program, singles: Singles, order: Sequence[tuple[int, int]]) -> Selection | None:
    """Options (with -1) and options of places (with theirs) in order, musts first, each in the first year that fits."""
    firsts = program.starts[:-1]
    asked = program.asked
    room = Room(program, Selection(np.where(asked, -1, firsts), np.zeros(len(program.places), dtype=np.int64)))
    urgent = [o for o, place in order if place < 0 and asked[singles.block(o)]]
    for option in urgent:
        block = singles.block(option)
        if room.choices[block] < 0:
            any(room.fits(block, choice) for choice in singles.choices(option, -1))
    _others_asked(program, room)
    if (room.choices < 0).any():
        return None
    for option, place in order:
        if place >= 0:
            _place(program, room, place, option)
        else:
            block = singles.block(option)
            any(room.fits(block, c) for c in singles.choices(option, int(room.choices[block])))
    plan = room.selection
    return plan if is_feasible(program, plan, solver().feasibility) else None


def _others_asked(program: Program, room: Room) -> None:
    """Blocks that several musts ask for at once take the first of their choices that fits."""
    for block in np.flatnonzero(room.choices < 0).tolist():
        any(room.fits(block, choice) for choice in range(int(program.starts[block]), int(program.starts[block + 1])))


def _place(program: Program, room: Room, place: int, option: int) -> None:
    """Add a place option to what is done to its group of places, in the first year that fits."""
    states = program.places[place].states
    done = set(states[room.states[place]])
    for year in range(1, program.situation.years + 1):
        wanted = done | {(option, year)}
        state = next((n for n, its in enumerate(states) if set(its) == wanted), None)
        if state is not None and option not in {o for o, _ in done} and room.place_fits(place, state):
            return


def rules_of_thumb(program: Program) -> list[tuple[str, Selection | None]]:
    """Both rules with what they plan; null where a rule meets no must in time."""
    singles = Singles(program)
    plans = highest_risk_first(program, singles), best_per_cost_first(program, singles)
    return list(zip((HIGHEST_RISK, BEST_PER_COST), plans, strict=True))


@returns(RULE)
def rule_rows(program: Program, rules: Sequence[tuple[str, Selection | None]]) -> pl.DataFrame:
    """What each rule prevents, schema RULE."""
    rows = [(name, None if s is None else total_worth(program, s) / program.scale) for name, s in rules]
    return pl.DataFrame(rows, schema=RULE, orient="row")
