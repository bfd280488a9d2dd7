"""The awkward objects that every museum has, `awkward.toml`: fifteen of them, each for its own reason."""

import tomllib

from demo_collection.generator.items import Item
from demo_collection.generator.truth import HERE

USUAL = {"culture": "", "sort": "awkward", "hand": "database", "language": "en"}


def awkward() -> list[Item]:
    """The separated pair, the suite in three numbers, and the rest."""
    listed = tomllib.loads((HERE / "awkward.toml").read_text("utf-8"))["thing"]
    return [_item(**its) for its in listed]


def _item(title: str, parts: tuple[list[object], ...] = (), **its: object) -> Item:
    named = {"title": title, "kind_word": title.split(",")[0], "parts": [tuple(part) for part in parts]}
    return Item(**{**USUAL, **named, **its})  # type: ignore[arg-type]
