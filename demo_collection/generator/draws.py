"""The survey that was drawn at random: which objects, in which of its two groups, with what chance."""

from collections import Counter

from demo_collection.generator.objects import Item, checked
from demo_collection.generator.rounds import ROUNDS, planned
from demo_collection.generator.tables import Row

BY_LOT = "S19"
GROUPS = {True: "unstable glass", False: "all others"}  # of unstable glass more were drawn


def survey_units() -> list[Row]:
    """Every object drawn, with the share of its group that was."""
    (day,) = (its["starts_on"] for its in ROUNDS if its["survey"] == BY_LOT)
    there = {item.number: _group(item) for item in checked() if item.came_on <= day}
    drawn = list(dict.fromkeys(v.number for v in planned() if v.survey == BY_LOT and v.number in there))
    held, picked = Counter(there.values()), Counter(there[number] for number in drawn)
    return [
        {"survey_id": BY_LOT, "unit_id": number, "stratum": there[number],
         "chance": round(picked[there[number]] / held[there[number]], 6), "draw_order": turn}
        for turn, number in enumerate(drawn, start=1)
    ]  # fmt: skip


def _group(item: Item) -> str:
    return GROUPS[item.group == "unstable_painted"]
