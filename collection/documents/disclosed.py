"""What leaves the house on purpose beside the public records: verdict, limits, who examined it, partners.

Where nobody named a loan, a paper of an object is for the one it is on, else for its next.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import polars as pl

from collection.documents.cells import Row
from collection.facts.facts import Facts
from collection.frames import returns
from collection.loans.limits import OF_LIGHT, limits
from collection.loans.rules import travel_reasons
from collection.questions.travel import effort_words, travel_of
from collection.questions.triage import Triage
from collection.risk.handling import loans_ahead
from collection.snapshot import Collection

CURRENT = pl.Schema({"object_id": pl.String(), "loan_id": pl.String()})


@dataclass(frozen=True)
class Disclosed:
    """Of one object and the loan its paper is for. verdict: empty where nobody asked.

    reasons : rows of schema TRAVEL. takes : hours of bench work, never money. limits : rows of schema LIMITS.
    people : name and qualification of examiner and witness, by check. partners : the other numbers of its groups.
    """

    loan_id: str | None = None
    verdict: str = ""
    verdict_words: str = ""
    reasons: Sequence[Row] = ()
    fit_when: Sequence[str] = ()
    takes: str = ""
    time: str = ""
    limits: Sequence[Row] = ()
    people: Mapping[str, Mapping[str, str]] | None = None
    partners: Mapping[str, Sequence[str]] | None = None

    def screened(self, withhold: Callable[[str], str]) -> "Disclosed":
        """The same, with private values in its free text withheld."""
        reasons = [{**row, "reason": withhold(row["reason"])} for row in self.reasons]
        why = [{**row, "reason": row["reason"] and withhold(row["reason"])} for row in self.limits]
        return replace(self, reasons=reasons, limits=why)


def disclosed(triage: Triage, object_ids: Sequence[str], loan_id: str | None) -> Mapping[str, Disclosed]:
    """By object: what its report says beside its public records, worked out once for all objects of a loan.

    Without a loan: for the one each object is on, else for its next.
    """
    if loan_id is not None:
        return _for_loan(triage, object_ids, loan_id)
    of_object = dict(current_loans(triage.collection).collect(engine="in-memory").iter_rows())
    by_loan: dict[str | None, list[str]] = {}
    for object_id in object_ids:
        by_loan.setdefault(of_object.get(object_id), []).append(object_id)
    return {
        object_id: its for loan, mine in by_loan.items() for object_id, its in _for_loan(triage, mine, loan).items()
    }


@returns(CURRENT)
def current_loans(collection: Collection) -> pl.LazyFrame:
    """Objects with a loan that has a venue not yet over, schema CURRENT: the one under way, else the next.

    What somebody promised goes before what is only asked for; what was refused or came back is none.
    """
    legs = collection["loan_leg"].lazy().filter(pl.col("ends_on").is_null() | (pl.col("ends_on") >= collection.day))
    ahead = legs.join(loans_ahead(collection), on="loan_id")
    days = ahead.group_by("loan_id").agg(pl.col("starts_on").min(), pl.col("confirmed").first())
    rows = collection["loan_object"].lazy().select("object_id", "loan_id").unique().join(days, on="loan_id")
    first = rows.sort(~pl.col("confirmed"), "starts_on", "loan_id", nulls_last=True)
    return first.unique("object_id", keep="first", maintain_order=True).select(CURRENT.names())


def _for_loan(triage: Triage, object_ids: Sequence[str], loan_id: str | None) -> Mapping[str, Disclosed]:
    facts = Facts(triage.collection, triage.risk, triage.rates, only=object_ids, worded=True, loan_id=loan_id)
    reasons = _by_object(travel_reasons(facts).collect(engine="in-memory"))
    lent = facts.leaves.select("object_id", "loan_id")
    agreed = _by_object(_without_staff(limits(triage.collection).join(lent, on=["object_id", "loan_id"], how="semi")))
    people, partners = _examiners(triage, object_ids), _partners(triage, object_ids)
    return {
        row["object_id"]: Disclosed(
            loan_id=loan_id,
            verdict=row["verdict"],
            verdict_words=row["verdict_words"],
            reasons=reasons.get(row["object_id"], ()),
            fit_when=row["fit_when"],
            takes=effort_words({**row, "cost": None}),
            time=row["time"],
            limits=agreed.get(row["object_id"], ()),
            people=people.get(row["object_id"], {}),
            partners=partners.get(row["object_id"], {}),
        )
        for row in travel_of(triage, facts).iter_rows(named=True)
    }


def _without_staff(rows: pl.LazyFrame) -> pl.DataFrame:
    """Limits without who set the need for light: of a requirement that name stays in the house."""
    of_target = ~pl.col("quantity").is_in(list(OF_LIGHT))
    return rows.with_columns(set_by=pl.when(of_target).then("set_by")).collect(engine="in-memory")


def _by_object(rows: pl.DataFrame) -> Mapping[str, list[dict[str, Any]]]:
    grouped: dict[str, list[dict[str, Any]]] = {}
    for row in rows.iter_rows(named=True):
        grouped.setdefault(row["object_id"], []).append(row)
    return grouped


def _examiners(triage: Triage, object_ids: Sequence[str]) -> Mapping[str, Mapping[str, Mapping[str, str]]]:
    """By object and check: name and qualification of who examined it and who was there."""
    people = triage.collection["person"].select("person_id", "name", "qualification")
    known = {key: row for row in people.iter_rows(named=True) for key in (row["person_id"], row["name"])}
    checks = triage.collection["condition_check"].filter(pl.col("object_id").is_in(object_ids))
    named: dict[str, dict[str, dict[str, str]]] = {}
    for row in checks.select("object_id", "check_id", "examiner", "witness").iter_rows(named=True):
        roles = {role: _with_qualification(row[role], known) for role in ("examiner", "witness") if row[role]}
        named.setdefault(row["object_id"], {})[row["check_id"]] = roles
    return named


def _with_qualification(name: str, known: Mapping[str, Row]) -> str:
    row = known.get(name)
    return ", ".join(filter(None, (row["name"], row["qualification"]))) if row else name


def _partners(triage: Triage, object_ids: Sequence[str]) -> Mapping[str, Mapping[str, Sequence[str]]]:
    """By object and group: the other numbers of the group."""
    groups = triage.collection["object_group"].select("group_id", "object_id").unique()
    mine = groups.filter(pl.col("object_id").is_in(object_ids))
    others = mine.join(groups, on="group_id", suffix="_other").filter(pl.col("object_id") != pl.col("object_id_other"))
    rows = others.group_by("object_id", "group_id").agg(pl.col("object_id_other").sort())
    by_object: dict[str, dict[str, Sequence[str]]] = {}
    for object_id, group_id, numbers in rows.iter_rows():
        by_object.setdefault(object_id, {})[group_id] = numbers
    return by_object
