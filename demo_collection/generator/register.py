"""What goes on in the museum: damage and repairs, the rows it wrote down, the visits ahead, and the work that waits."""

import random
from collections import Counter
from dataclasses import dataclass, field
from datetime import date

from demo_collection.generator.chance import stream
from demo_collection.generator.damage import Damage, Tally
from demo_collection.generator.repairs import Repair, old_repairs
from demo_collection.generator.rounds import Visit, planned
from demo_collection.generator.tables import Row, rates


@dataclass
class Register:
    """Rows by record; damage, repairs, last inspection and waiting work by object; visits ahead in order of days."""

    repairs: dict[str, list[Repair]] = field(default_factory=old_repairs)
    damage: dict[str, list[Damage]] = field(default_factory=dict)
    inspected: dict[str, date] = field(default_factory=dict)
    visits: list[Visit] = field(default_factory=planned)
    waiting: dict[str, list[Damage | Repair]] = field(default_factory=dict)
    bench_places: int = 0
    coatings_off: int = 0
    rows: dict[str, list[Row]] = field(default_factory=dict)
    numbers: Counter[str] = field(default_factory=Counter)
    tally: Tally = field(default_factory=Tally)
    chances: dict[str, random.Random] = field(default_factory=dict)
    bench_chance: random.Random = field(default_factory=lambda: stream("bench"))

    def add(self, record: str, row: Row) -> Row:
        """Write down one row."""
        self.rows.setdefault(record, []).append(row)
        return row

    def chance_of(self, object_id: str) -> random.Random:
        """Chance of its own for the history of each object: a change to one leaves the others alone."""
        return self.chances.setdefault(object_id, stream(f"years {rates()['years']} {object_id}"))

    def next_number(self, record: str, letter: str) -> str:
        """The next number of a record."""
        self.numbers[record] += 1
        return f"{letter}{self.numbers[record]:04d}"

    def open_damage(self, object_id: str) -> list[Damage]:
        """Damage of an object that no treatment closed."""
        return [d for d in self.damage.get(object_id, []) if d.closed_on is None]

    def open_repairs(self, object_id: str) -> list[Repair]:
        """Repairs of an object that nobody removed."""
        return [r for r in self.repairs.get(object_id, []) if r.closed_on is None]

    def moving(self, object_id: str) -> list[Damage]:
        """Damage last written down as active or suspected."""
        return [d for d in self.open_damage(object_id) if d.moving]

    def lifts(self, object_id: str) -> bool:
        """Enamel is lifting, and moving."""
        return any(d.kind == "lifting" and d.last["activity"] == "active" for d in self.moving(object_id))
