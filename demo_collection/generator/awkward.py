"""The awkward objects that every museum has, `awkward.toml`: fifteen of them, each for its own reason."""

import tomllib

from demo_collection.generator.things import Thing
from demo_collection.generator.truth import HERE

USUAL = {"culture": "", "sort": "awkward", "hand": "database", "language": "en"}


def awkward() -> list[Thing]:
    """The separated pair, the suite in three numbers, and the rest."""
    listed = tomllib.loads((HERE / "awkward.toml").read_text("utf-8"))["thing"]
    return [_thing(**its) for its in listed]


def _thing(title: str, parts: tuple[list[object], ...] = (), **its: object) -> Thing:
    named = {"title": title, "kind_word": title.split(",")[0], "parts": [tuple(part) for part in parts]}
    return Thing(**{**USUAL, **named, **its})  # type: ignore[arg-type]
