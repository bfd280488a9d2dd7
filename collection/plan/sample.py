"""First prices from some of the objects, drawn by the hash of their numbers."""

from dataclasses import replace
from hashlib import blake2b

import numpy as np
import numpy.typing as npt

from collection.plan.cuts import Planes, Search, lower
from collection.plan.parameters import Planning
from collection.plan.program import Program, Section

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def first_prices(program: Program, figures: Planning, ends: float) -> Array:
    """Prices at which a sample of the objects, with its share of the limits, has the lowest bound."""
    if len(program.blocks) <= 2 * figures.price_sample:
        return np.zeros(program.limits.amount.size)
    part = _part(program, figures.price_sample)
    states = tuple(tuple(range(len(place.states))) for place in part.places)
    start = np.zeros(program.limits.amount.size)
    search = Search(figures.gap, figures.evaluations, ends)
    return lower(Planes(part), states, start, search, lambda _: False).at.prices


def _part(program: Program, size: int) -> Program:
    """The table of some blocks; limits, places and set-up work in proportion."""
    hashes = [blake2b("\n".join(b).encode(), digest_size=KEY_BYTES).digest() for b in program.blocks]
    drawn = np.sort(np.array(sorted(range(len(hashes)), key=hashes.__getitem__)[:size]))
    share = size / len(program.blocks)
    chosen = np.zeros(len(program.blocks), dtype=np.bool_)
    chosen[drawn] = True
    use = np.repeat(chosen, np.diff(program.starts))
    starts = np.concatenate([[0], np.cumsum(np.diff(program.starts)[drawn])])
    before = np.concatenate([[0], np.cumsum(use)])
    its = program.limits
    where = [slice(int(before[w.start]), int(before[w.stop])) for w in program.place_choices]
    return replace(
        program,
        limits=replace(its, amount=its.amount * share, carried=its.carried * share),
        sections=tuple(_moved(s, chosen, before) for s in program.sections if chosen[s.blocks].any()),
        blocks=tuple(program.blocks[b] for b in drawn), place_of=program.place_of[drawn], starts=starts,
        options=program.options[use], years=program.years[use], use_row=program.use_row[use],
        use_amount=program.use_amount[use], setup=program.setup[use], segment=program.segment[use],
        worth=tuple(w[:, use[p]] for w, p in zip(program.worth, program.place_choices, strict=True)),
        place_choices=tuple(where), place_use=tuple(u * share for u in program.place_use),
        setup_use=program.setup_use * share,
    )  # fmt: skip


KEY_BYTES = 8


def _moved(section: Section, chosen: npt.NDArray[np.bool_], before: Ints) -> Section:
    """A section where its blocks and choices stand among those drawn."""
    first, last = int(chosen[: section.blocks.start].sum()), int(chosen[: section.blocks.stop].sum())
    choices = slice(int(before[section.choices.start]), int(before[section.choices.stop]))
    return replace(section, blocks=slice(first, last), choices=choices)
