"""How rates are learned and tested: figures of method that a museum may set, checked on load."""

from typing import Annotated

from pydantic import Field

from collection.risk.parameters import Fraction, Lines, Positive, Strict, Three, read

Nodes = Annotated[int, Field(gt=2)]


class Learning(Strict):
    """Grids, draws and limits; `activation_years` [year] is the starting range for the count of activations."""

    limits: Annotated[float, Field(gt=0, lt=1)]
    rate_nodes: Nodes
    widest_z: Positive
    no_spread_chance: Fraction
    spread_nodes: Nodes
    spread_least: Positive
    spread_most: Positive
    most_events: Annotated[int, Field(ge=1)]
    activation_years: Three
    events_a_group: Positive
    resamples: Nodes
    draws: Nodes
    seed: int

    @property
    def low(self) -> float:
        """Chance below the lower limit: 0.05 where 90 % lie between."""
        return (1 - self.limits) / 2

    @property
    def points(self) -> tuple[float, float, float]:
        """Chances below the lower limit, the middle and the upper limit."""
        return self.low, 1 / 2, 1 - self.low


def learning() -> Learning:
    """The figures of lines.toml. Raises VocabularyError."""
    return read(Learning, "lines", "learning")


def lines() -> Lines:
    """The museum's lines that learning reads. Raises VocabularyError."""
    return read(Lines, "lines", "lines")
