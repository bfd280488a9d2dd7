"""Reports from before the register, copied from paper: checks of source *old report*, with the damage they name."""

from collections.abc import Iterator
from typing import Any

from demo_collection.generator.collected import checked
from demo_collection.generator.truth import stream

Row = dict[str, Any]
REPORTS = 38


def checks() -> Iterator[Row]:
    """Rows of record condition_check; old grades of poor stand without a cause, as they do on paper."""
    chance = stream("old reports")
    for place, item in enumerate(chance.sample(checked(), REPORTS), start=1):
        year = chance.randint(1974, 2014)
        yield {
            "check_id": f"OLD-{place:02d}",
            "object_id": item.number,
            "checked_on": chance.choice([str(year), f"{year}-0{chance.randint(1, 9)}"]),
            "examiner": chance.choice(["A. W.", "H. L.", "visiting restorer"]),
            "occasion": "round",
            "visit": "examined",
            "look": "inspection",
            "grade": chance.choices(["good", "fair", "poor"], weights=[5, 3, 1])[0],
            "summary_observed": chance.choice(
                ["sound", "as found", "cracks old", "some loss at the edge", "coated 1974"]
            ),
            "source": "legacy_report",
        }


def damage() -> Iterator[Row]:
    """Rows of record damage named in old reports."""
    for row in list(checks())[::10]:
        yield {
            "damage_id": f"{row['check_id']}/1",
            "object_id": row["object_id"],
            "part": "",
            "kind": "stain",
            "origin": "in_use",
            "onset": "before_register",
            "first_seen_on": row["checked_on"],
        }


def observations() -> Iterator[Row]:
    """Rows of record observation of that damage."""
    for row in damage():
        yield {
            "check_id": row["damage_id"].split("/")[0],
            "damage_id": row["damage_id"],
            "activity": "appears_stable",
            "severity": "minor",
        }
