"""Streams of chance and draws from them. Same seed, same numbers, on any machine."""

import math
import random
from collections.abc import Mapping

from demo_collection.generator.tables import rates


def stream(topic: str) -> random.Random:
    """Chance of its own for each topic, so that a change to one leaves the others alone."""
    return random.Random(f"{rates()['seed']}:{topic}")


def poisson(chance: random.Random, mean: float) -> int:
    """A Poisson number, for small means."""
    limit, count, product = math.exp(-mean), 0, chance.random()
    while product > limit:
        count += 1
        product *= chance.random()
    return count


def between(chance: random.Random, ends: list[float]) -> float:
    """A number between two ends, even on a log scale."""
    low, high = ends
    return math.exp(math.log(low) + chance.random() * (math.log(high) - math.log(low)))


def pick(chance: random.Random, weights: Mapping[str, float]) -> str:
    """One of the names, by weight."""
    return chance.choices(list(weights), weights=list(weights.values()))[0]
