"""A made-up collection of any size, for timings only: same seed, same rows."""

from datetime import date, timedelta

import numpy as np
import polars as pl

from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

AS_OF = date(2026, 11, 1)


def made_up(objects: int, observations: int, repairs: int, seed: int = 7) -> Collection:
    """Objects with two checks each, damage seen up to three times, and repairs with one state each."""
    rng = np.random.default_rng(seed)
    ids = _ids("O", objects)
    checks = _checks(rng, ids)
    damage, seen = _damage(rng, checks, observations)
    repair, states = _repairs(rng, checks, repairs)
    frames = {
        "object": _objects(rng, ids),
        "part": pl.DataFrame({"object_id": ids, "part": ["whole"] * objects}),
        "location": pl.DataFrame({"location_id": _ids("L", 40), "within": [None] + _ids("L", 1) * 39}),
        "place_check": pl.DataFrame(
            {"location_id": _ids("L", 3)[1:], "seen_on": [AS_OF] * 2, "fault": _some("place_fault", 2)}
        ),
        "condition_check": checks,
        "damage": damage,
        "observation": seen,
        "repair": repair,
        "repair_state": states,
    }
    return Collection.of(frames)


def _ids(letter: str, n: int) -> list[str]:
    return [f"{letter}{i:07d}" for i in range(n)]


def _some(name: str, n: int) -> list[str]:
    return list(vocabulary(name).term)[:n]


def _draw(rng: np.random.Generator, terms: list[str], n: int, weights: list[float] | None = None) -> pl.Series:
    picked = rng.choice(len(terms), n, p=weights)
    return pl.Series(terms).gather(picked)


def _objects(rng: np.random.Generator, ids: list[str]) -> pl.DataFrame:
    n = len(ids)
    techniques = _draw(rng, list(vocabulary("technique").term), n)
    size = rng.uniform(20, 400, (n, 2)).round(0)
    points = pl.Series(rng.choice([1.0, 3.0, 10.0, 30.0, 100.0], n))
    return pl.DataFrame(
        {
            "object_id": ids,
            "object_type": _draw(rng, list(vocabulary("object_type").term), n),
            "technique": pl.DataFrame({"t": techniques}).select(pl.concat_list("t")).to_series(),
            "base_metal": _draw(rng, list(vocabulary("metal").term), n),
            "provenance_class": _draw(rng, list(vocabulary("provenance_class").term), n),
            "glass_stability": _draw(rng, list(vocabulary("glass_stability").term), n, [0.02, 0.05, 0.43, 0.5]),
            "height_mm": size[:, 0],
            "width_mm": size[:, 1],
            "location_id": _draw(rng, _ids("L", 40), n),
            "value_points": pl.select(pl.when(pl.Series(rng.random(n) < 0.5)).then(points)).to_series(),
        }
    )


def _checks(rng: np.random.Generator, ids: list[str]) -> pl.DataFrame:
    """Two checks of nine objects in ten; the rest nobody has seen."""
    seen = [i for i, u in zip(ids, rng.random(len(ids)), strict=True) if u < 0.9]
    n = 2 * len(seen)
    days = rng.integers(0, 3000, n)
    on = [AS_OF - timedelta(days=int(d)) for d in days]
    looks = [term for term, its in vocabulary("look").term.items() if its.get("in_person")]
    return pl.DataFrame(
        {
            "check_id": _ids("C", n),
            "object_id": seen * 2,
            "checked_on": [d.isoformat() for d in on],
            "checked_on_earliest": on,
            "checked_on_latest": on,
            "look": _draw(rng, looks, n),
        }
    )


def _damage(rng: np.random.Generator, checks: pl.DataFrame, lines: int) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Damage seen at both checks of its object; observations add up to `lines`."""
    half = checks.height // 2
    n = lines // 2
    which = rng.integers(0, half, n)
    kinds = _draw(rng, list(vocabulary("damage").term), n)
    damage = pl.DataFrame(
        {
            "damage_id": _ids("D", n),
            "object_id": checks["object_id"].gather(which),
            "part": ["whole"] * n,
            "kind": kinds,
            "visibility": _draw(rng, list(vocabulary("visibility").term), n),
            "closed_on": pl.select(pl.when(pl.Series(rng.random(n) < 0.1)).then(pl.lit(date(2020, 1, 1)))).to_series(),
        }
    )
    states = list(vocabulary("activity").term)
    weights = [0.02, 0.03, 0.35, 0.4, 0.05, 0.15]
    bands = [*vocabulary("extent_band").term, None]
    both = [_lines(rng, checks["check_id"].gather(which + half * k), damage["damage_id"]) for k in range(2)]
    seen = pl.concat(both).with_columns(
        activity=_draw(rng, states, 2 * n, weights),
        extent_band=_draw(rng, bands, 2 * n, [0.3, 0.25, 0.15, 0.05, 0.03, 0.02, 0.2]),
    )
    return damage, seen


def _lines(rng: np.random.Generator, check_ids: pl.Series, damage_ids: pl.Series) -> pl.DataFrame:
    n = len(damage_ids)
    length = pl.Series(rng.uniform(1, 60, n))
    some = pl.Series(rng.random(n) < 0.5)
    return pl.DataFrame(
        {
            "check_id": check_ids,
            "damage_id": damage_ids,
            "length_mm": pl.select(pl.when(some).then(length)).to_series(),
            "change": _draw(rng, [*vocabulary("change").term, None], n),
        }
    )


def _repairs(rng: np.random.Generator, checks: pl.DataFrame, n: int) -> tuple[pl.DataFrame, pl.DataFrame]:
    which = rng.integers(0, checks.height, n)
    repair = pl.DataFrame(
        {
            "repair_id": _ids("R", n),
            "object_id": checks["object_id"].gather(which),
            "part": ["whole"] * n,
            "function": _draw(rng, list(vocabulary("repair_function").term), n),
            "material": _draw(rng, list(vocabulary("repair_material").term), n),
        }
    )
    states = pl.DataFrame(
        {
            "check_id": checks["check_id"].gather(which),
            "repair_id": repair["repair_id"],
            "stability": _draw(rng, list(vocabulary("stability").term), n, [0.5, 0.3, 0.05, 0.02, 0.01, 0.12]),
            "extent_band": _draw(rng, [*vocabulary("extent_band").term, None], n),
        }
    )
    return repair, states
