"""From a situation to the whole table of what may be chosen."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from collection.plan.columns import Block, Columns, blocks, columns
from collection.plan.eligible import eligible
from collection.plan.exposure import Jobs
from collection.plan.hazard_table import HazardTable, hazard_table
from collection.plan.limits import Limits, limits
from collection.plan.parameters import Planning, solver
from collection.plan.places import NO_PLACE, Place, places
from collection.plan.program import Program, Section, only_own
from collection.plan.situation import Situation
from collection.plan.usage import Usage, place_usage, setup_usage, usage
from collection.plan.worth import losses

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
DECIMALS = 9  # of a scaled worth; equal beyond them is equal


@dataclass(frozen=True)
class Draft:
    """The table before choices that nothing speaks for are left out and each block is put in order."""

    blocks: list[Block]
    columns: Columns
    usage: Usage
    worth: list[Array]
    slices: list[slice]

    @property
    def block_of(self) -> Ints:
        """Block of each choice."""
        return np.repeat(np.arange(len(self.blocks)), self.columns.counts)


def assemble(situation: Situation, figures: Planning, limited: Limits | None = None) -> Program:
    """The whole table of a situation; `limited` are limits in place of the situation's own, with the same rows."""
    table = hazard_table(situation, figures)
    rows = limited or limits(situation)
    now = losses_now(situation, table)
    risks = dict(zip(situation.objects["object_id"], now.tolist(), strict=True))
    may = eligible(situation, risks, figures)
    groups, place_of = places(situation, may.tied, figures)
    draft = _draft(situation, table, rows, groups, blocks(situation, may, place_of), figures)
    demanded, unmeetable = _demanded(situation, draft)
    use = _useful(draft) | demanded.any(axis=0) if demanded.size else _useful(draft)
    use &= _meets(draft, demanded)
    program = _program(situation, table, rows, groups, _ordered(draft, use, situation.years))
    return replace(program, loss_now=now, gain_alone=_gains(draft), left_out=may.left_out, unmeetable=unmeetable)


def losses_now(situation: Situation, table: HazardTable) -> Array:
    """What each object is expected to lose over the horizon if nothing is done, in the unit of the plan."""
    objects = np.arange(situation.objects.height)
    none = np.full((objects.size, 1), -1)
    return np.asarray(
        losses(table, Jobs(objects, none, none * 0), NO_PLACE.arrays(), situation.horizon)[:, 0] * _values(situation)
    )


def _values(situation: Situation) -> Array:
    values = situation.values
    return np.array([values[o] for o in situation.objects["object_id"]], dtype=np.float64)


def _draft(
    situation: Situation, table: HazardTable, rows: Limits, groups: list[Place], every: list[Block], figures: Planning
) -> Draft:
    """Every choice of every block with what it uses and what it is worth."""
    choices = columns(every, figures.tied_most)
    ends = np.cumsum(choices.counts)
    place = np.array([b.place for b in every], dtype=np.int64)
    slices, worth, begin = [], [], 0
    for number, its in enumerate(groups):
        mine = ends[place == number]
        where = slice(begin, int(mine[-1]) if mine.size else begin)
        worth.append(_worth(situation, table, every, choices, where, its))
        slices.append(where)
        begin = where.stop
    return Draft(every, choices, usage(situation, rows, choices), worth, slices)


def _worth(
    situation: Situation, table: HazardTable, every: list[Block], choices: Columns, where: slice, place: Place
) -> Array:
    """Worth of the choices of one place in each of its states: states x choices; nothing in the first state: 0."""
    numbers = {o: n for n, o in enumerate(situation.objects["object_id"])}
    block = np.repeat(np.arange(len(every)), choices.counts)[where]
    sizes = np.array([len(b.objects) for b in every], dtype=np.int64)
    members = np.array([numbers[o] for b in every for o in b.objects], dtype=np.int64)
    of = np.repeat(np.arange(block.size), sizes[block])
    firsts = np.cumsum(sizes) - sizes
    within = np.arange(of.size) - np.repeat(np.cumsum(sizes[block]) - sizes[block], sizes[block])
    options, years = choices.options[where][of], choices.years[where][of]
    jobs = only_own(situation, Jobs(members[firsts[block][of] + within], options, years))
    values = _values(situation)[jobs.objects][:, None]
    lost = values * losses(table, jobs, place.arrays(), situation.horizon)
    summed = np.stack([np.bincount(of, column, minlength=block.size) for column in lost.T])
    new = np.diff(block, prepend=-1) != 0
    nothing = summed[0][np.flatnonzero(new)][np.cumsum(new) - 1]
    given = np.append(situation.options["given_worth"].fill_null(0.0).to_numpy(), 0.0)
    return np.asarray(nothing - summed + given[choices.options[where]].sum(axis=1))


def _gain(draft: Draft) -> Array:
    """The most that each choice is worth more than nothing, over the states of its place."""
    best = []
    for worth, where in zip(draft.worth, draft.slices, strict=True):
        block = draft.block_of[where]
        new = np.diff(block, prepend=-1) != 0
        nothing = worth[:, np.flatnonzero(new)][:, np.cumsum(new) - 1]
        best.append((worth - nothing).max(axis=0, initial=-np.inf))
    return np.concatenate(best)


def _useful(draft: Draft) -> Flags:
    """Nothing, and what is worth more than nothing in some state."""
    return np.asarray((draft.columns.options[:, 0] < 0) | (_gain(draft) > 0))


def _gains(draft: Draft) -> dict[int, float]:
    """The most that each option prevents by itself, by its number."""
    alone = (draft.columns.options >= 0).sum(axis=1) == 1
    best: dict[int, float] = {}
    for option, gain in zip(draft.columns.options[alone, 0].tolist(), _gain(draft)[alone].tolist(), strict=True):
        best[option] = max(gain, best.get(option, gain))
    return best


def _demanded(situation: Situation, draft: Draft) -> tuple[Flags, tuple[str, ...]]:
    """musts x choices that meet them, and the musts that none meets."""
    owner = situation.options["object_id"].to_list()
    named = situation.options["option_id"].to_list()
    met, unmeetable = [], []
    for must, number, option, done_by, _ in situation.musts.iter_rows():
        asked = [o == number if option is None else name == option for o, name in zip(owner, named, strict=True)]
        mine = np.array([*asked, False])[draft.columns.options]
        meets = (mine & (draft.columns.years <= situation.last_year(done_by))).any(axis=1)
        met.append(meets)
        unmeetable += [] if meets.any() else [must]
    return np.array(met, dtype=np.bool_).reshape(len(met), len(draft.columns.options)), tuple(unmeetable)


def _meets(draft: Draft, demanded: Flags) -> Flags:
    """Choices that meet every must of their block; a must that none meets asks nothing here."""
    fine = np.ones(len(draft.columns.options), dtype=np.bool_)
    block = draft.block_of
    for meets in demanded:
        concerned = np.isin(block, block[meets])
        fine &= meets | ~concerned
    return fine


def _ordered(draft: Draft, use: Flags, years: int) -> Draft:
    """Choices in use, those of a block in order of the year of its set-up work; blocks without any choice go."""
    group = np.array([b.group for b in draft.blocks], dtype=np.int64)[draft.block_of]
    segment = _segments(draft.usage.setup, group, years)
    order = np.flatnonzero(use)[np.lexsort((segment[use], draft.block_of[use]))]
    counts = np.bincount(draft.block_of[use], minlength=len(draft.blocks))
    left = np.flatnonzero(counts)
    worth, slices, begin = [], [], 0
    for table, where in zip(draft.worth, draft.slices, strict=True):
        mine = order[(order >= where.start) & (order < where.stop)]
        worth.append(table[:, mine - where.start])
        slices.append(slice(begin, begin + mine.size))
        begin += mine.size
    its, used = draft.columns, draft.usage
    picked = Columns(counts[left], its.options[order], its.years[order])
    return Draft(
        [draft.blocks[n] for n in left],
        picked,
        Usage(used.row[order], used.amount[order], used.setup[order]),
        worth,
        slices,
    )


def _segments(setup: Ints, group: Ints, years: int) -> Ints:
    """Year of the first set-up work of the block's own group that a choice needs; 0: none."""
    mine = (setup >= 0) & (setup // years == group[:, None])
    year = np.where(mine, setup % years + 1, years + 1).min(axis=1)
    return np.asarray(np.where(year <= years, year, 0))


def _program(situation: Situation, table: HazardTable, rows: Limits, groups: list[Place], draft: Draft) -> Program:
    """The table in units that a solver can work with."""
    largest = max((float(np.abs(w).max(initial=0)) for w in draft.worth), default=0.0)
    scale = solver().scale / largest if largest else 1.0
    group = np.array([b.group for b in draft.blocks], dtype=np.int64)[draft.block_of]
    return Program(
        situation=situation, table=table, limits=rows, places=tuple(groups), sections=_sections(draft),
        blocks=tuple(b.objects for b in draft.blocks),
        place_of=np.array([b.place for b in draft.blocks], dtype=np.int64),
        starts=np.concatenate([[0], np.cumsum(draft.columns.counts)]).astype(np.int64),
        options=draft.columns.options, years=draft.columns.years,
        use_row=draft.usage.row, use_amount=draft.usage.amount, setup=draft.usage.setup,
        segment=_segments(draft.usage.setup, group, situation.years),
        worth=tuple(np.round(w * scale, DECIMALS) for w in draft.worth), place_choices=tuple(draft.slices),
        place_use=tuple(place_usage(situation, rows, place) for place in groups),
        setup_use=setup_usage(situation, rows), scale=scale,
         loss_now=np.zeros(0), gain_alone={}, left_out={}, unmeetable=(),
    )  # fmt: skip


def _sections(draft: Draft) -> tuple[Section, ...]:
    """Runs of blocks of one place and set-up group, with the share of the group's cost by number of blocks."""
    keys = [(b.place, b.group) for b in draft.blocks]
    ends = np.cumsum(draft.columns.counts)
    of_group = {g: sum(key[1] == g for key in keys) for g in {key[1] for key in keys}}
    sections = []
    for key in sorted(set(keys)):
        first = keys.index(key)
        last = first + keys.count(key)
        begin = int(ends[first - 1]) if first else 0
        where = slice(begin, int(ends[last - 1]))
        sections.append(Section(*key, slice(first, last), where, (last - first) / of_group[key[1]]))
    return tuple(sections)
