"""What needs attention now, grouped by its reason: each group has one first step, and some of it is one thing to do.

The fault of one place is one thing to do, and so are old repairs of one campaign.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from collection.attention.first_steps import first_steps
from collection.facts.wording import written_day
from collection.frames import returns
from collection.questions.triage import Triage
from collection.risk.hazards import hazard_id
from collection.risk.rate_rows import REPAIR
from schemas.terms import RepairFunction
from schemas.vocabularies import terms, vocabulary

TOGETHER = pl.Schema(
    {"together": pl.String, "words": pl.String, "first_step": pl.String, "objects": pl.UInt32}
    | {"object_ids": pl.List(pl.String)}
)
FEWEST = 2  # objects that make one row
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


@returns(TOGETHER)
def together(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """What several of the chosen objects have in common, schema TOGETHER, in the order of the list.

    A fault of a place calls for one act, whatever stands there; repairs of one use, material and day were one campaign
    and are one decision. `objects` counts those chosen whose class rests on it.
    """
    mine = triage.all_reasons.join(chosen.select("object_id").with_row_index("line"), on="object_id")
    grouped = [g for g in (_faults(triage, mine), _campaigns(triage, mine)) if not g.is_empty()]
    if not grouped:
        return pl.DataFrame(schema=TOGETHER)
    return pl.concat(grouped).sort("line").select(*TOGETHER)


def _faults(triage: Triage, mine: pl.DataFrame) -> pl.DataFrame:
    """One row a place and fault: *East Store, drawer E1-4-2: gives off acid: mend it, 5 objects stand there*."""
    names = triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    labels = vocabulary("place_fault").labels()
    of_place = mine.filter(c("fault").is_not_null()).join(names, on="location_id", how="left")
    fault = c("fault").replace_strict(labels, default=c("fault")).str.to_lowercase()
    words = pl.format("{}: {}", c("place").fill_null(c("location_id")), fault)
    return _gathered(of_place.with_columns(words=words, together=pl.format("{}:{}", "location_id", "fault")), 1)


def _campaigns(triage: Triage, mine: pl.DataFrame) -> pl.DataFrame:
    """One row a campaign: *polyurethane coating of 1974, 8 objects*."""
    materials = vocabulary("repair_material").labels()
    nouns = {use: its.noun for use, its in terms("repair_function", RepairFunction).items()}
    repairs = triage.collection["repair"].filter(c("done_on").is_not_null()).select(
        "function", "material", "done_on", hazard_id=hazard_id(REPAIR, "repair_id")
    )  # fmt: skip
    rows = mine.join(repairs, on="hazard_id")
    material = c("material").replace_strict(materials, default=c("material")).str.split(",").list.first()
    noun = c("function").replace_strict(nouns, default=c("function"))
    words = pl.format("{} {} of {}", material, noun, written_day("done_on"))
    key = pl.concat_str("function", "material", "done_on", separator=":")
    return _gathered(rows.with_columns(words=words, together=key), FEWEST)


def _gathered(rows: pl.DataFrame, fewest: int) -> pl.DataFrame:
    ordered = rows.sort("line").group_by("together", maintain_order=True)
    return ordered.agg(
        c("words").first(),
        first_step=c("step").first(),
        object_ids=c("object_id").unique(maintain_order=True),
        objects=c("object_id").n_unique(),
        line=c("line").first(),
    ).filter(c("objects") >= fewest)
