"""What needs attention now, grouped by its reason: each group has one first step."""

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from collection.attention.first_steps import first_steps
from collection.questions.together import together
from collection.questions.triage import Triage

c = pl.col


@dataclass(frozen=True)
class Group:
    """Objects of one class whose first reason asks for one step.

    objects : schema RANKED. together : schema TOGETHER, what several of them have in common.
    """

    attention: str
    title: str
    step: str
    objects: pl.DataFrame
    together: pl.DataFrame

    @property
    def alone(self) -> pl.DataFrame:
        """Objects that are in no row of `together`."""
        gathered = self.together["object_ids"].explode(empty_as_null=True)
        return self.objects.filter(~c("object_id").is_in(gathered.drop_nulls().implode()))


def groups(triage: Triage, listed: pl.DataFrame) -> Iterator[Group]:
    """Groups of the listed objects (schema RANKED) that need attention now: in the order of the list."""
    now = listed.filter(c("attention").is_in(triage.now))
    first = triage.all_reasons.join(now.select("object_id"), on="object_id", how="semi")
    leading = first.group_by("object_id", maintain_order=True).agg(c("step").first(), c("step_no").first())
    rows = now.join(leading, on="object_id", how="left", maintain_order="left").with_columns(
        of_class=c("attention").rle_id(), foremost=c("line").min().over("attention", "step")
    )
    common = together(triage, now)
    for part in rows.sort("of_class", "foremost", "line").partition_by("of_class", "step", maintain_order=True):
        yield _group(part, common)


def _group(part: pl.DataFrame, common: pl.DataFrame) -> Group:
    its = first_steps()[part["step_no"][0]]
    mine = part["object_id"].to_list()
    inside = common.with_columns(object_ids=c("object_ids").list.set_intersection(mine)).with_columns(
        objects=c("object_ids").list.len()
    )
    shared = inside.filter(c("objects") > 1)
    return Group(
        part["attention"][0], its.title, its.step, part.drop("step", "step_no", "of_class", "foremost"), shared
    )
