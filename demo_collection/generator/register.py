"""What the museum wrote down: rows gathered by record, and the numbers it gave."""

from dataclasses import dataclass, field
from typing import Any

from demo_collection.generator.histories import SimulatedDamage, Tally
from demo_collection.generator.repairs import SimulatedRepair

Row = dict[str, Any]


@dataclass
class Register:
    """Rows by record; true damage and repairs by object."""

    rows: dict[str, list[Row]] = field(default_factory=dict)
    wounds: dict[str, list[SimulatedDamage]] = field(default_factory=dict)
    mends: dict[str, list[SimulatedRepair]] = field(default_factory=dict)
    given: dict[str, int] = field(default_factory=dict)
    tally: Tally = field(default_factory=Tally)

    def add(self, record: str, row: Row) -> Row:
        """Write down one row."""
        self.rows.setdefault(record, []).append(row)
        return row

    def next(self, record: str, letter: str) -> str:
        """The next number of a record."""
        self.given[record] = self.given.get(record, 0) + 1
        return f"{letter}{self.given[record]:04d}"

    def open_wounds(self, number: str) -> list[SimulatedDamage]:
        """Damage of an object that no treatment closed."""
        return [w for w in self.wounds.get(number, []) if w.closed_on is None]

    def open_mends(self, number: str) -> list[SimulatedRepair]:
        """Repairs of an object that nobody removed."""
        return [m for m in self.mends.get(number, []) if m.closed_on is None]
