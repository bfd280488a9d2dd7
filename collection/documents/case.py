"""Everything the blocks of one report are made from: one object, one stage, of a register cut to one day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import polars as pl

from collection.documents.cells import Row, day_words
from collection.documents.disclosed import Disclosed
from collection.loans.rules import NOT_FIT
from collection.risk.findings import open_damage, open_repairs
from collection.risk.inspections import inspections, looks
from collection.risk.namespace import Lazy
from collection.snapshot import Collection
from schemas.errors import NotFound
from schemas.vocabularies import vocabulary


@dataclass(frozen=True)
class Case:
    """The public records of one object as known on `made_on`, read for one stage; `loan_id` where one was named.

    also : what leaves on purpose beside the public records.
    """

    public: Collection
    object_id: str
    state: str
    made_on: date
    loan_id: str | None = None
    also: Disclosed = field(default_factory=Disclosed)

    def rows(self, record: str, *by: str) -> Sequence[Row]:
        """Rows of a record, sorted by its key unless said otherwise."""
        frame = self.public[record]
        return (
            list(frame.sort(list(by), nulls_last=True).iter_rows(named=True))
            if by
            else list(frame.iter_rows(named=True))
        )

    @cached_property
    def object_row(self) -> Row:
        """The object itself. Raises NotFound."""
        rows = self.rows("object")
        if not rows:
            raise NotFound(self.object_id, "the register has no object of this number", "", "Look it up.")
        return rows[0]

    def setting(self, name: str) -> str:
        """What the museum set, or nothing."""
        return next((row["value"] for row in self.rows("setting") if row["name"] == name), "")

    @cached_property
    def loan(self) -> Row | None:
        """The loan this report is for: the one named or judged for, else the first with a leg not ended on the day.

        A loan nobody gave a leg has no day, so it is only taken by its number.
        """
        loans = {row["loan_id"]: row for row in self.rows("loan", "loan_id")}
        if named := self.loan_id or self.also.loan_id:
            return loans.get(named)
        if self.also.verdict:
            return None
        legs = [leg for leg in self.rows("loan_leg", "leg") if (leg["ends_on"] or date.max) >= self.made_on]
        first = min(legs, key=lambda leg: (leg["starts_on"] or date.max, leg["loan_id"]), default=None)
        return loans.get(first["loan_id"]) if first else None

    def of_loan(self, record: str, *by: str) -> Sequence[Row]:
        """Rows of a record that belong to this loan."""
        return [r for r in self.rows(record, *by) if self.loan and r["loan_id"] == self.loan["loan_id"]]

    @cached_property
    def terms_of_loan(self) -> Row:
        """Limits and packing agreed for the object; empty where there is no loan."""
        return next(iter(self.of_loan("loan_object", "part")), {})

    @cached_property
    def requirement(self) -> Row:
        """How the object is to be held and shown, whatever the loan; empty where nobody said."""
        return next(iter(self.rows("requirement")), {})

    def agreed_or_required(self, name: str) -> str | int | float | None:
        """What was agreed for this loan, else what the object requires."""
        agreed: str | int | float | None = self.terms_of_loan.get(name)
        return agreed if agreed is not None else self.requirement.get(name)

    @cached_property
    def stated(self) -> Row | None:
        """The entry of this very stage, if somebody made one."""
        entries = self.of_loan("loan_state", "stated_on")
        return next((r for r in reversed(entries) if r["state"] == self.state), None)

    @cached_property
    def earlier(self) -> Sequence[Row]:
        """Entries of other stages of this loan, oldest first."""
        return [r for r in self.of_loan("loan_state", "stated_on") if r["state"] != self.state]

    @cached_property
    def _checks(self) -> pl.DataFrame:
        return inspections(self.public)

    @cached_property
    def check(self) -> Row | None:
        """The look the report rests on: the one the state names, else the last in person."""
        named = self.stated["check_id"] if self.stated else None
        last = looks(self._checks).filter(pl.col("last_checked_on").is_not_null())["look_check_id"]
        wanted = named or (last[0] if last.len() else None)
        return next((row for row in self.rows("condition_check") if row["check_id"] == wanted), None)

    @cached_property
    def damages(self) -> Sequence[Row]:
        """Open damage with what was last seen of it, numbered from 1."""
        f = _lazy(self.public, "damage", "observation")
        rows = open_damage(f, self._checks.lazy()).collect(engine="in-memory")
        return _numbered(_with_lines(rows, self, "damage", "observation", "damage_id"), "")

    @cached_property
    def flaws(self) -> Sequence[Row]:
        """Flaws of making, by their origin or their kind, which are no damage."""
        flaws, kinds = vocabulary("origin").terms_where("flaw"), vocabulary("damage").terms_where("flaw")
        open_rows = [r for r in self.rows("damage", "part", "damage_id") if r["closed_on"] is None]
        return _numbered([r for r in open_rows if r["origin"] in flaws or r["kind"] in kinds], "F")

    @cached_property
    def repairs(self) -> Sequence[Row]:
        """Old repairs in place with what was last seen of them, numbered from R1."""
        f = _lazy(self.public, "repair", "repair_state")
        rows = open_repairs(f, self._checks.lazy()).collect(engine="in-memory")
        return _numbered(_with_lines(rows, self, "repair", "repair_state", "repair_id"), "R")

    @cached_property
    def numbers(self) -> Mapping[str, str]:
        """The number printed for each damage and repair, by its key; for each piece that of its damage."""
        damages = {row["damage_id"]: row["no"] for row in (*self.damages, *self.flaws)}
        return damages | {row["repair_id"]: row["no"] for row in self.repairs}

    @cached_property
    def numbers_by_hazard(self) -> Mapping[str, str]:
        """The number printed, by hazard_id."""
        damages = {f"damage:{row['damage_id']}": row["no"] for row in self.damages}
        return damages | {f"repair:{row['repair_id']}": row["no"] for row in self.repairs}

    @cached_property
    def verdict_by_number(self) -> Mapping[str, str]:
        """The gravest verdict a rule of travel gave for each number."""
        named = ((self.numbers_by_hazard.get(r["hazard_id"] or ""), r["verdict"]) for r in self.also.reasons)
        return {no: verdict for no, verdict in sorted(named, key=lambda pair: pair[1] == NOT_FIT) if no}

    def day_of_check(self, check_id: str | None) -> str:
        """The day of a check in words, never its number."""
        return next((day_words(r["checked_on"]) for r in self.rows("condition_check") if r["check_id"] == check_id), "")


def _lazy(public: Collection, *records: str) -> Mapping[str, Lazy]:
    return {name: public[name].lazy() for name in records}


def _with_lines(rows: pl.DataFrame, case: Case, record: str, line: str, key: str) -> Sequence[Row]:
    """Each open damage or repair as declared, its state, and the line of the check that said so."""
    states = rows.select(key, "check_id", "seen_on", "state", "state_assumed")
    declared = case.public[record].join(states, on=key)
    lines = case.public[line].drop("row_version", "withdrawn_on", strict=False)
    joined = declared.join(lines, on=["check_id", key], how="left", suffix="_of_check").sort(
        "part", "side", key, nulls_last=True
    )
    return list(joined.iter_rows(named=True))


def _numbered(rows: Sequence[Row], letter: str) -> Sequence[Row]:
    return [{**row, "no": f"{letter}{n}"} for n, row in enumerate(rows, 1)]
