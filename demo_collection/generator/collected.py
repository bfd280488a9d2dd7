"""The collection put together: who was looked at, what has parts, what is framed, what cannot be found."""

from functools import cache

from demo_collection.generator.awkward import awkward
from demo_collection.generator.items import (
    CHECKED,
    KNOWN_ONLY_BY_REMARK,
    NEVER,
    NEVER_CHECKED,
    REMARK,
    Item,
    ordinary,
)
from demo_collection.generator.truth import stream

NOT_FOUND, SAID_MISSING, FRAMED, IN_PARTS = 25, 10, 6, 30
PARTS = {
    "champleve": [
        ("front", "enamel", 0.5),
        ("roof", "enamel", 0.3),
        ("ends", "enamel", 0.15),
        ("wooden core", "core", 0.05),
    ],
    "english_box": [("lid", "enamel", 0.6), ("box", "enamel", 0.4), ("mount", "metal_mount", 0.0)],
    "guilloche_box": [("lid", "enamel", 0.55), ("base", "enamel", 0.4), ("hinge", "metal_mount", 0.05)],
    "watch_case": [("case", "enamel", 0.7), ("movement", "clockwork", 0.3)],
    "limoges_later": [("plaque", "enamel", 0.9), ("frame", "frame", 0.1)],
}
SHARES_FORGOTTEN = 8  # objects in parts whose shares nobody judged


@cache
def items() -> tuple[Item, ...]:
    """All 640 objects, in the order in which they were drawn."""
    drawn = [*ordinary(), *awkward()]
    _looked_at(drawn)
    _framed(drawn)
    _with_parts(drawn)
    _not_found(drawn)
    return tuple(drawn)


def checked() -> list[Item]:
    """Those that somebody looked at."""
    return [t for t in items() if t.looked == CHECKED]


def _looked_at(drawn: list[Item]) -> None:
    """Stores that are awkward to get into were left for later; show, known trouble and awkward things came first."""
    chance = stream("looked")
    pressing = {"unstable_painted": 0.3, "painted": 0.8, "chinese": 0.9, "steel_sign": 0.9}
    order = sorted(
        (t for t in drawn if t.sort != "awkward" and t.room not in ("GA", "GW")),
        key=lambda t: chance.random() * pressing.get(t.group, 1.3),
        reverse=True,
    )
    for item in order[:NEVER_CHECKED]:
        item.looked = NEVER
    described = [t for t in order[NEVER_CHECKED:] if t.hand != "recent"]  # nobody remarks on condition in that file
    for item in described[:KNOWN_ONLY_BY_REMARK]:
        item.looked = REMARK


def _framed(drawn: list[Item]) -> None:
    plaques = [t for t in drawn if t.sort in ("limoges_early", "limoges_later") and t.looked == CHECKED]
    for item in plaques[::5][:FRAMED]:
        item.framed, item.counter_enamel = True, "not_seen"
        item.description = "In a sealed frame of the 1890s; the reverse has not been seen."


def _with_parts(drawn: list[Item]) -> None:
    """29 objects beside the box with its lid apart."""
    chance = stream("parts")
    able = [t for t in drawn if t.sort in PARTS and not t.framed]
    for place, item in enumerate(chance.sample(able, IN_PARTS - 1)):
        shares = place >= SHARES_FORGOTTEN
        item.parts = [(n, k, s if shares else None, "", "") for n, k, s in PARTS[item.sort]]


def _not_found(drawn: list[Item]) -> None:
    chance = stream("not found")
    small = ("cap_badge", "english_box", "plique_spoon", "dial", "mughal_pendant")
    able = [t for t in drawn if t.sort in small and t.looked == CHECKED and not t.parts]
    for place, item in enumerate(chance.sample(able, NOT_FOUND)):
        item.missing = True
        if place < SAID_MISSING:
            item.status, item.away = "missing", "NF"
