"""The collection put together: who was looked at, what has parts, what is framed, what cannot be found."""

from functools import cache

from demo_collection.generator.awkward import awkward
from demo_collection.generator.things import (
    CHECKED,
    KNOWN_ONLY_BY_REMARK,
    NEVER,
    NEVER_CHECKED,
    REMARK,
    Thing,
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
def things() -> tuple[Thing, ...]:
    """All 640 objects, in the order in which they were drawn."""
    drawn = [*ordinary(), *awkward()]
    _looked_at(drawn)
    _framed(drawn)
    _with_parts(drawn)
    _not_found(drawn)
    return tuple(drawn)


def checked() -> list[Thing]:
    """Those that somebody looked at."""
    return [t for t in things() if t.looked == CHECKED]


def _looked_at(drawn: list[Thing]) -> None:
    """Stores that are awkward to get into were left for later; show, known trouble and awkward things came first."""
    chance = stream("looked")
    pressing = {"unstable_painted": 0.3, "painted": 0.8, "chinese": 0.9, "steel_sign": 0.9}
    order = sorted(
        (t for t in drawn if t.sort != "awkward" and t.room not in ("GA", "GW")),
        key=lambda t: chance.random() * pressing.get(t.group, 1.3),
        reverse=True,
    )
    for thing in order[:NEVER_CHECKED]:
        thing.looked = NEVER
    described = [t for t in order[NEVER_CHECKED:] if t.hand != "recent"]  # nobody remarks on condition in that file
    for thing in described[:KNOWN_ONLY_BY_REMARK]:
        thing.looked = REMARK


def _framed(drawn: list[Thing]) -> None:
    plaques = [t for t in drawn if t.sort in ("limoges_early", "limoges_later") and t.looked == CHECKED]
    for thing in plaques[::5][:FRAMED]:
        thing.framed, thing.counter_enamel = True, "not_seen"
        thing.description = "In a sealed frame of the 1890s; the reverse has not been seen."


def _with_parts(drawn: list[Thing]) -> None:
    """29 objects beside the box with its lid apart."""
    chance = stream("parts")
    able = [t for t in drawn if t.sort in PARTS and not t.framed]
    for place, thing in enumerate(chance.sample(able, IN_PARTS - 1)):
        shares = place >= SHARES_FORGOTTEN
        thing.parts = [(n, k, s if shares else None, "", "") for n, k, s in PARTS[thing.sort]]


def _not_found(drawn: list[Thing]) -> None:
    chance = stream("not found")
    small = ("cap_badge", "english_box", "plique_spoon", "dial", "mughal_pendant")
    able = [t for t in drawn if t.sort in small and t.looked == CHECKED and not t.parts]
    for place, thing in enumerate(chance.sample(able, NOT_FOUND)):
        thing.missing = True
        if place < SAID_MISSING:
            thing.status, thing.away = "missing", "NF"
