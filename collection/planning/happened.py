"""What checks saw lost since a plan was drawn up, of the objects that it was to treat."""

from dataclasses import dataclass

from collection.learning.inspected_lines import inspected_lines
from collection.learning.seen_losses import seen_losses, seen_total, spans
from collection.planning.accepted import AcceptedPlan
from collection.questions.triage import Triage


@dataclass(frozen=True)
class Happened:
    """objects : of the plan's lines. checked : of these, looked at before the plan and since. lost [share of the
    collection's value]. unmeasured : places in which something happened and nobody wrote how much.
    """

    objects: int
    checked: int
    lost: float
    unmeasured: int


def happened(triage: Triage, plan: AcceptedPlan) -> Happened:
    """What the checks since the day of a plan's figures saw lost of its objects."""
    known, checks, rates = triage.collection, triage.risk.checks, triage.rates
    mine = known["option"].join(plan.lines, on="option_id", how="semi").select("object_id").drop_nulls().unique()
    looked = spans(checks, plan.made_on).join(mine, on="object_id", how="semi")
    seen = seen_losses(known, inspected_lines(known, checks, rates), looked, rates)
    lost = seen_total(seen, triage.risk.objects.select("object_id", "value_share"))
    return Happened(mine.height, looked.height, lost, int(seen["unmeasured"].sum()))
