"""What the museum wrote down: rows gathered by record, the numbers it gave, and the state of its objects."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date

from demo_collection.generator.damage import Damage, Tally
from demo_collection.generator.repairs import Repair
from demo_collection.generator.tables import Row


@dataclass
class Register:
    """Rows by record; true damage and repairs by object; the last inspection of each object."""

    repairs: dict[str, list[Repair]]
    damage: dict[str, list[Damage]] = field(default_factory=dict)
    rows: dict[str, list[Row]] = field(default_factory=dict)
    numbers: Counter[str] = field(default_factory=Counter)
    inspected: dict[str, date] = field(default_factory=dict)
    tally: Tally = field(default_factory=Tally)

    def add(self, record: str, row: Row) -> Row:
        """Write down one row."""
        self.rows.setdefault(record, []).append(row)
        return row

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
