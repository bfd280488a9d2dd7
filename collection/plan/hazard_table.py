"""Hazards and what options do to them as arrays, by object, part and hazard; then what options leave behind."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.plan.parameters import Planning
from collection.plan.situation import Situation
from collection.risk.rate_distribution import rates_of

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
YEARS = ("years_short", "years_likely", "years_long")
AGEING = ("ageing_short", "ageing_likely", "ageing_long")
NODES = 12  # Gauss-Legendre on each side of the likely years: the two sides differ, one rule over both is 1.3 % off
WIDEST_Z = 6.0


@dataclass(frozen=True)
class HazardTable:
    """Arrays by hazard; those from `added_from` on belong to options.

    starts : where each object's hazards begin (one more than objects). owner : object of each hazard. rates,
    ageing_rates [1/year] : m/T by node of the years, which `weights` sum over. chance : -ln(1 - chance of a move).
    moves [1/year]; journeys : hazards x years. Effects are sorted by option and hazard. protects : place options x
    objects. Where an option is meant, a last element stands for none.
    """

    starts: Ints
    owner: Ints
    part: Ints
    part_share: Array
    reach: Array
    depth: Array
    ageing_depth: Array
    rates: Array
    ageing_rates: Array
    weights: Array
    chance: Array
    moves: Array
    journeys: Array
    climate: Ints
    handling: Ints
    effect_keys: Ints
    effect_left: Array
    lasts: Array
    loss_in_doing: Array
    added_from: int
    added_starts: Ints
    adding: npt.NDArray[np.bool_]
    sound_years: float
    rate_factor: Array
    place_lasts: Array
    protects: npt.NDArray[np.bool_]

    def rate_left(self, option: Ints, hazard: Ints) -> Array:
        """Share of the rate that an option leaves; 1 where it does nothing to the hazard, or there is no option."""
        if not self.effect_keys.size:
            return np.ones(option.size)
        key = option * self.part.size + hazard
        at = np.minimum(np.searchsorted(self.effect_keys, key), self.effect_keys.size - 1)
        return np.where((self.effect_keys[at] == key) & (option >= 0), self.effect_left[at], 1.0)


def quadrature() -> tuple[Array, Array]:
    """Nodes z of the two-sided normal density and their weights, which sum to 1."""
    x, w = np.polynomial.legendre.leggauss(NODES)
    half = (x + 1) * WIDEST_Z / 2
    z = np.concatenate([half - WIDEST_Z, half])
    weights = np.concatenate([w, w]) * np.exp(-(z**2) / 2)
    return z, weights / weights.sum()


def hazard_table(situation: Situation, figures: Planning) -> HazardTable:
    """The situation's hazards and effects as arrays; objects, options and place options by their sorted position."""
    objects = situation.objects.select("object_id").with_row_index("object")
    options = situation.options.select("option_id").with_row_index("option")
    both = hazard_rows(situation)
    own, added = both.filter(pl.col("option").is_null()), both.drop_nulls("option")
    groups = _groups(both)
    z, weights = quadrature()
    years = both.select(c.fill_null(pl.col(y)) for c, y in zip(map(pl.col, AGEING), YEARS, strict=True))
    keys, left = _effects(situation, both, options)
    counts = np.bincount(own["object"].to_numpy(), minlength=objects.height)
    adds = np.bincount(added["option"].to_numpy(), minlength=options.height)
    return HazardTable(
        starts=_starts(counts), owner=_owners(both, objects), part=_parts(both),
        part_share=_column(both, "part_share"), reach=_column(both, "reach"), depth=_column(both, "loss_depth"),
        ageing_depth=_column(both.with_columns(pl.col("ageing_depth").fill_null(0.0)), "ageing_depth"),
        rates=_rates(both.select(YEARS), both["modifier"], z), ageing_rates=_rates(years, both["modifier"], z),
        weights=weights, chance=-np.log1p(-_column(both, "chance_per_move")), moves=_column(both, "moves_a_year"),
        journeys=_journeys(situation, both), climate=_numbers(both["climate"], groups),
        handling=_numbers(both["handling"], groups), effect_keys=keys, effect_left=left,
        lasts=_lasting(situation.options["lasts_years"]),
        loss_in_doing=np.append(_column(situation.options, "loss_in_doing"), 0.0),
        added_from=own.height, added_starts=_starts(adds), adding=adds > 0, sound_years=figures.repair_sound_years,
        rate_factor=_factors(situation, groups), place_lasts=_lasting(situation.place_options["lasts_years"]),
        protects=_protects(situation),
    )  # fmt: skip


def hazard_rows(situation: Situation) -> pl.DataFrame:
    """Hazards in the order of the table: those of objects by object, part and number, then what options leave behind.

    Columns of HAZARD and ADDED, `object`, `option` (positions; null where there is none) and `hazard`.
    """
    objects = situation.objects.select("object_id").with_row_index("object")
    options = situation.options.select("option_id", "object_id").with_row_index("option")
    own = situation.hazards.join(objects, on="object_id").sort("object", "part", "hazard_id")
    added = situation.added.join(options, on="option_id", maintain_order="left")
    later = added.sort("option", "part", maintain_order=True)
    return pl.concat([own, later], how="diagonal").with_row_index("hazard")


def _starts(counts: Ints) -> Ints:
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)


def _parts(hazards: pl.DataFrame) -> Ints:
    """Parts of objects, numbered in the order of their names."""
    keys = hazards.select("object_id", "part").unique().sort("object_id", "part").with_row_index("number")
    numbered = hazards.join(keys, on=["object_id", "part"], how="left", maintain_order="left")
    return np.asarray(numbered["number"].to_numpy(), dtype=np.int64)


def _owners(hazards: pl.DataFrame, objects: pl.DataFrame) -> Ints:
    numbered = hazards.select("object_id").join(objects, on="object_id", how="left", maintain_order="left")
    return np.asarray(numbered["object"].to_numpy(), dtype=np.int64)


def _protects(situation: Situation) -> npt.NDArray[np.bool_]:
    """Which objects each place option acts on."""
    place = {name: n for n, name in enumerate(situation.place_options["option_id"])}
    objects = {name: n for n, name in enumerate(situation.objects["object_id"])}
    acts = np.zeros((len(place) + 1, len(objects)), dtype=np.bool_)
    for option, number in situation.protected.iter_rows():
        if option in place and number in objects:
            acts[place[option], objects[number]] = True
    return acts


def _column(frame: pl.DataFrame, name: str) -> Array:
    return np.asarray(frame[name].fill_null(0.0).to_numpy(), dtype=np.float64)


def _lasting(years: pl.Series) -> Array:
    """Years; without end where nothing is said. A last element stands for no option."""
    return np.append(years.fill_null(np.inf).to_numpy().astype(np.float64), np.inf)


def _rates(years: pl.DataFrame, modifier: pl.Series, z: Array) -> Array:
    """m/T [1/year] at each node, by hazard; each triple of years is reckoned once."""
    triples: dict[tuple[float, ...], Array] = {}
    for triple in years.unique().iter_rows():
        triples[triple] = rates_of(z, triple)
    rows = [triples[triple] for triple in years.iter_rows()]
    rates: Array = np.array(rows, dtype=np.float64).reshape(len(rows), z.size)
    rates *= modifier.to_numpy().reshape(-1, 1)
    return rates


def _groups(hazards: pl.DataFrame) -> dict[str | None, int]:
    """Groups of climate and handling that hazards have, numbered; 0 stands for none."""
    names = pl.concat([hazards["climate"], hazards["handling"]]).drop_nulls().unique().sort()
    return {None: 0, **{name: n + 1 for n, name in enumerate(names)}}


def _numbers(names: pl.Series, groups: dict[str | None, int]) -> Ints:
    return np.array([groups[name] for name in names], dtype=np.int64)


def _factors(situation: Situation, groups: dict[str | None, int]) -> Array:
    """Factor of each place option on each group; a last row of ones stands for no option."""
    place = {name: n for n, name in enumerate(situation.place_options["option_id"])}
    factors = np.ones((len(place) + 1, len(groups)))
    for option, group, factor in situation.place_effects.iter_rows():
        if option in place and group in groups:
            factors[place[option], groups[group]] = factor
    return factors


def _effects(situation: Situation, hazards: pl.DataFrame, options: pl.DataFrame) -> tuple[Ints, Array]:
    """What options leave of rates, by key option x hazards + hazard, sorted; effects on no hazard of the object go."""
    owner = situation.options.select("option_id", "object_id")
    mine = situation.effects.join(owner, on="option_id").join(options, on="option_id")
    own = hazards.filter(pl.col("hazard_id").is_not_null()).select("object_id", "hazard_id", "hazard")
    there = mine.join(own, on=["object_id", "hazard_id"])
    keys = there["option"].to_numpy().astype(np.int64) * hazards.height + there["hazard"].to_numpy()
    order = np.argsort(keys)
    return keys[order], there["rate_left"].to_numpy()[order].astype(np.float64)


def _journeys(situation: Situation, hazards: pl.DataFrame) -> Array:
    """Moves of planned journeys, by hazard and year from the first on."""
    at = situation.journeys.join(hazards, on=["object_id", "hazard_id"]).select("hazard", "year", "moves")
    years = [year - situation.first_year for year in at["year"]]
    moves = np.zeros((hazards.height, max((y + 1 for y in years), default=0)))
    for hazard, year, counted in zip(at["hazard"], years, at["moves"], strict=True):
        if year >= 0:
            moves[hazard, year] += counted
    return moves
