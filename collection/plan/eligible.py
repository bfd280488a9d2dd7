"""Which options may be planned at all, and why others may not; which objects are tied to each other."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import polars as pl

from collection.plan.parameters import Planning
from collection.plan.situation import Situation

# Why an option is not planned, in words a person reads.
NO_HOURS = "nobody estimated its hours"
NOT_RECORDED = "what it does is not recorded"
NOTHING_LEFT = "has nothing left to do"
OTHER_BENEFIT = "prevents no loss"
IN_FORCE = "a decision leaves the object as it is"
NEEDS = "needs {}, which cannot be planned"
TIED = "tied to more than {} objects: plan it by hand"
ALWAYS_AWAY = "the object is out of reach in every year"
c = pl.col


@dataclass(frozen=True)
class Option:
    """An option that may be planned; numbers of object and option in sorted order."""

    option_id: str
    object_id: str
    number: int
    object: int
    years: tuple[int, ...]
    needs: tuple[str, ...]
    excludes: frozenset[str]
    together: frozenset[str]


@dataclass(frozen=True)
class Eligible:
    """Options that may be planned by object, objects tied to each other, and reasons for the others."""

    options: Mapping[str, tuple[Option, ...]]
    tied: tuple[tuple[str, ...], ...]
    left_out: Mapping[str, str] = field(default_factory=dict)


def eligible(situation: Situation, risks: Mapping[str, float], figures: Planning) -> Eligible:
    """Options with a column in the plan.

    risks : object to what it is expected to lose, in the plan's unit: where too many objects are tied, those with most
    stay tied.
    """
    reasons = _reasons(situation)
    options = _options(situation, reasons)
    tied, loose = _ties(options, risks, figures.tied_most)
    reasons |= {o: TIED.format(figures.tied_most) for o in loose}
    options = _without_unmet_needs(situation, [o for o in options if o.option_id not in loose], reasons)
    by_object: dict[str, list[Option]] = {}
    for option in options:
        by_object.setdefault(option.object_id, []).append(option)
    return Eligible({o: tuple(its) for o, its in by_object.items()}, tied, reasons)


def _demanded(situation: Situation) -> tuple[set[str], set[str]]:
    """Objects and options that a must names."""
    musts = situation.musts
    return set(musts["object_id"].drop_nulls()), set(musts["option_id"].drop_nulls())


def _reasons(situation: Situation) -> dict[str, str]:
    """Why open options have no column; those that a must asks for need only hours."""
    objects, named = _demanded(situation)
    must = c("object_id").is_in(list(objects)) | c("option_id").is_in(list(named))
    left = situation.objects.filter("left")["object_id"].to_list()
    estimated = situation.option_hours["option_id"].unique().to_list()
    recorded = situation.effects["option_id"].unique().to_list()
    mine = situation.effects.join(situation.options.select("option_id", "object_id"), on="option_id")
    acting = mine.join(situation.hazards, on=["object_id", "hazard_id"])["option_id"].unique().to_list()
    computed = c("given_worth").is_null()
    reason = (
        pl.when(~c("option_id").is_in(estimated)).then(pl.lit(NO_HOURS))
        .when(must).then(None)
        .when(c("object_id").is_in(left)).then(pl.lit(IN_FORCE))
        .when(~c("prevents_loss")).then(pl.lit(OTHER_BENEFIT))
        .when(computed & ~c("option_id").is_in(recorded)).then(pl.lit(NOT_RECORDED))
        .when(computed & ~c("option_id").is_in(acting)).then(pl.lit(NOTHING_LEFT))
    )  # fmt: skip
    rows = situation.options.filter("open", ~c("done")).select("option_id", reason.alias("why"))
    return dict(rows.drop_nulls().iter_rows())


def _options(situation: Situation, reasons: dict[str, str]) -> list[Option]:
    """Open options that no reason keeps out, in order of object and option."""
    first, objects = situation.first_year, {o: n for n, o in enumerate(situation.objects["object_id"])}
    away = {o: {y - first + 1 for y in years} for o, years in situation.objects.select("object_id", "away").iter_rows()}
    every = range(1, situation.years + 1)
    columns = ["option_id", "object_id", "needs", "excludes", "together_with", "number"]
    numbered = situation.options.with_row_index("number").filter("open", ~c("done")).select(columns)
    options = []
    for option, number, needs, excludes, together, position in numbered.sort("object_id", "option_id").iter_rows():
        if option in reasons or number not in objects:
            continue
        years = tuple(y for y in every if y not in away[number])
        if not years:
            reasons[option] = ALWAYS_AWAY
            continue
        sets = frozenset(excludes), frozenset(together)
        options.append(Option(option, number, position, objects[number], years, tuple(needs), *sets))
    return options


def _ties(
    options: list[Option], risks: Mapping[str, float], most: int
) -> tuple[tuple[tuple[str, ...], ...], frozenset[str]]:
    """Groups of objects tied by needs or excludes, and options that tie more objects than can be planned together."""
    of = {o.option_id: o.object_id for o in options}
    links = [(o.option_id, other) for o in options for other in {*o.needs, *o.excludes} if other in of]
    across = [(a, b) for a, b in links if of[a] != of[b]]
    groups = components((of[a], of[b]) for a, b in across)
    tied, loose = [], set()
    for group in groups:
        worst = sorted(sorted(group, key=lambda o: (-risks.get(o, 0.0), o))[:most])
        tied.append(tuple(worst))
        outside = set(group) - set(worst)
        loose |= {x for pair in across for x in pair if of[x] in outside}
    return tuple(tied), frozenset(loose)


def components(pairs: Iterable[tuple[str, str]]) -> list[list[str]]:
    """Groups of names that pairs join, each sorted, in order of their first."""
    above: dict[str, str] = {}

    def top(name: str) -> str:
        while above.setdefault(name, name) != name:
            above[name] = above[above[name]]
            name = above[name]
        return name

    for a, b in pairs:
        above[top(a)] = top(b)
    groups: dict[str, list[str]] = {}
    for name in sorted(above):
        groups.setdefault(top(name), []).append(name)
    return sorted(groups.values())


def _without_unmet_needs(situation: Situation, options: list[Option], reasons: dict[str, str]) -> list[Option]:
    """Options whose needs are done or can be planned; one that falls out may take others with it."""
    done = set(situation.options.filter("done")["option_id"])
    while True:
        there = done | {o.option_id for o in options}
        lacking = {o.option_id: next(n for n in o.needs if n not in there) for o in options if set(o.needs) - there}
        if not lacking:
            return [_pending(o, done) for o in options]
        reasons |= {option: NEEDS.format(needed) for option, needed in lacking.items()}
        options = [o for o in options if o.option_id not in lacking]


def _pending(option: Option, done: set[str]) -> Option:
    """The option with only those needs that are not yet done."""
    needs = tuple(n for n in option.needs if n not in done)
    sets = option.years, needs, option.excludes, option.together
    return Option(option.option_id, option.object_id, option.number, option.object, *sets)
