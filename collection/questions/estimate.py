"""One estimate as programs read it: value, limits, number it rests on, method, or why it is refused."""

from collections.abc import Mapping
from math import isfinite

Estimate = Mapping[str, float | int | str | None]


def estimate(value: float | None, low: float | None, high: float | None, n: int, method: str) -> Estimate:
    """An estimate with its limits; n is what it counts or rests on."""
    return {
        "value": _finite(value), "low": _finite(low), "high": _finite(high), "n": n, "method": method, "refused": None
    }  # fmt: skip


def refused(reason: str, n: int = 0, method: str = "") -> Estimate:
    """No estimate, with the reason."""
    return {"value": None, "low": None, "high": None, "n": n, "method": method, "refused": reason}


def _finite(value: float | None) -> float | None:
    return None if value is None or not isfinite(value) else value
