"""Everything the blocks of one report are made from: one object, one state, one day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import narwhals as nw
import polars as pl

from collection.documents.cells import Row
from collection.risk.hazards import counted_checks, open_damage, open_repairs
from collection.risk.inspections import looks
from collection.risk.series import Lazy
from collection.snapshot import Collection
from schemas.errors import NotFound
from schemas.vocabularies import vocabulary


@dataclass(frozen=True)
class Case:
    """The public records of one object, read for one state on one day."""

    public: Collection
    object_id: str
    state: str
    made_on: date

    def rows(self, record: str, *by: str) -> Sequence[Row]:
        """Rows of a record, sorted by its key unless said otherwise."""
        frame = self.public[record]
        return (
            list(frame.sort(list(by), nulls_last=True).iter_rows(named=True))
            if by
            else list(frame.iter_rows(named=True))
        )

    @cached_property
    def thing(self) -> Row:
        """The object itself."""
        found = self.rows("object")
        if not found:
            raise NotFound(self.object_id, "the register has no object of this number", "", "Look it up.")
        return found[0]

    def setting(self, name: str) -> str:
        """What the museum set, or nothing."""
        return next((row["value"] for row in self.rows("setting") if row["name"] == name), "")

    @cached_property
    def loan(self) -> Row | None:
        """The loan this report is for: the first that has not ended on the day."""
        ends = {row["loan_id"]: row["ends_on"] for row in self.rows("loan_leg", "leg")}
        starts = {row["loan_id"]: row["starts_on"] or date.max for row in reversed(self.rows("loan_leg", "leg"))}
        coming = [r for r in self.rows("loan", "loan_id") if (ends.get(r["loan_id"]) or date.max) >= self.made_on]
        return min(coming, key=lambda r: (starts.get(r["loan_id"], date.max), r["loan_id"]), default=None)

    def of_loan(self, record: str, *by: str) -> Sequence[Row]:
        """Rows of a record that belong to this loan."""
        return [r for r in self.rows(record, *by) if self.loan and r["loan_id"] == self.loan["loan_id"]]

    @cached_property
    def terms_of_loan(self) -> Row:
        """Limits and packing agreed for the object; empty where there is no loan."""
        return next(iter(self.of_loan("loan_object", "part")), {})

    @cached_property
    def stated(self) -> Row | None:
        """The entry of this very state, if somebody made one by the day."""
        made = [r for r in self.of_loan("loan_state", "stated_on") if r["stated_on"].date() <= self.made_on]
        return next((r for r in reversed(made) if r["state"] == self.state), None)

    @cached_property
    def earlier(self) -> Sequence[Row]:
        """Entries of other states of this loan by the day, oldest first."""
        made = [r for r in self.of_loan("loan_state", "stated_on") if r["stated_on"].date() <= self.made_on]
        return [r for r in made if r["state"] != self.state]

    @cached_property
    def _counted(self) -> Lazy:
        return counted_checks(_lazy(self.public, "condition_check"), self.made_on)

    @cached_property
    def check(self) -> Row | None:
        """The look the report rests on: the one the state names, else the last in person."""
        named = self.stated["check_id"] if self.stated else None
        last = looks(_collected(self._counted)).filter(pl.col("last_checked_on").is_not_null())["look_check_id"]
        wanted = named or (last[0] if last.len() else None)
        return next((row for row in self.rows("condition_check") if row["check_id"] == wanted), None)

    @cached_property
    def damages(self) -> Sequence[Row]:
        """Open damage with what was last seen of it, numbered from 1."""
        f = _lazy(self.public, "damage", "observation")
        found = _collected(open_damage(f, self._counted, self.made_on))
        return _numbered(_beside(found, self, "damage", "observation", "damage_id"), "")

    @cached_property
    def flaws(self) -> Sequence[Row]:
        """Flaws of making, which are no damage."""
        flaws = vocabulary("origin").terms_where("flaw")
        kept = [r for r in self.rows("damage", "part", "damage_id") if r["origin"] in flaws and r["closed_on"] is None]
        return _numbered(kept, "F")

    @cached_property
    def repairs(self) -> Sequence[Row]:
        """Old repairs in place with what was last seen of them, numbered from R1."""
        f = _lazy(self.public, "repair", "repair_state")
        found = _collected(open_repairs(f, self._counted, self.made_on))
        return _numbered(_beside(found, self, "repair", "repair_state", "repair_id"), "R")

    @cached_property
    def numbers(self) -> Mapping[str, str]:
        """The number printed for each damage and repair, by its key."""
        kept = {row["damage_id"]: row["no"] for row in (*self.damages, *self.flaws)}
        return kept | {row["repair_id"]: row["no"] for row in self.repairs}


def _lazy(public: Collection, *records: str) -> Mapping[str, Lazy]:
    return {name: nw.from_native(public[name].lazy()) for name in records}


def _collected(frame: Lazy) -> pl.DataFrame:
    lazy: pl.LazyFrame = frame.to_native()
    return lazy.collect(engine="in-memory")


def _beside(found: pl.DataFrame, case: Case, thing: str, line: str, key: str) -> Sequence[Row]:
    """Each open thing as declared, its state, and the line of the check that said so."""
    states = found.select(key, "check_id", "seen_on", "state", "state_assumed")
    things = case.public[thing].join(states, on=key)
    lines = case.public[line].drop("row_version", "withdrawn_on", strict=False)
    joined = things.join(lines, on=["check_id", key], how="left").sort("part", "side", key, nulls_last=True)
    return list(joined.iter_rows(named=True))


def _numbered(rows: Sequence[Row], letter: str) -> Sequence[Row]:
    return [{**row, "no": f"{letter}{n}"} for n, row in enumerate(rows, 1)]
