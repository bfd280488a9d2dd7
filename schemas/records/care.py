"""What is decided and done: decisions, costed options, treatments, materials used, the year's money and hours."""

from typing import Annotated, Literal

from pydantic import Field

from schemas.fields import (
    Currency,
    Day,
    Days,
    Digest,
    ForeignKey,
    FromVocabulary,
    Hours,
    Key,
    Money,
    Name,
    Number,
    Private,
    Record,
    Share,
    SquareMillimetres,
    Text,
    Year,
    Years,
)
from schemas.records.catalogue import ObjectId, PersonName

COSTS = Private("hours and costs are between the house and its bench")
OptionId = Annotated[Key, ForeignKey("option")]
TreatmentId = Annotated[Key, ForeignKey("treatment")]
Steps = Annotated[list[Annotated[str, FromVocabulary("treatment_step")]] | None, Field(description="Steps, in order")]


class Decision(Record):
    """What was decided about an object, a damage or a repair, and why."""

    record = "decision"
    key = ("decision_id",)
    known_from = ("decided_on",)
    decision_id: Annotated[Key, Field(description="Number of the decision")]
    object_id: ObjectId
    damage_id: Annotated[Key | None, ForeignKey("damage"), Field(description="Damage it is about")] = None
    repair_id: Annotated[Key | None, ForeignKey("repair"), Field(description="Repair it is about")] = None
    decided_on: Annotated[Day, Field(description="Day")]
    decided_by: Annotated[PersonName | None, Private("names of staff stay in the house"), Field(description="Who")] = (
        None
    )
    choice: Annotated[str, FromVocabulary("choice"), Field(description="Treat, monitor, leave, refer")]
    reason: Annotated[Text, Field(description="Why")]
    review_on: Annotated[Day | None, Field(description="When to think again")] = None


class Action(Record):
    """What was done at once about a hazard or a fault of a place, until somebody treats or mends it."""

    record = "action"
    key = ("action_id",)
    known_from = ("done_on",)
    action_id: Annotated[Key, Field(description="Number of the action")]
    object_id: Annotated[Key | None, ForeignKey("object"), Field(description="Object it was done for")] = None
    hazard_id: Annotated[
        Key | None, Field(description="What it answers: damage:NUMBER, repair:NUMBER, fragment:NUMBER, danger:AGENT")
    ] = None
    location_id: Annotated[
        Key | None,
        ForeignKey("location"),
        Private("where things are kept is nobody else's business"),
        Field(description="Place it was done for"),
    ] = None
    fault: Annotated[str | None, FromVocabulary("place_fault"), Field(description="Fault of the place")] = None
    done_on: Annotated[Day, Field(description="Day")]
    done_by: Annotated[PersonName | None, Private("names of staff stay in the house"), Field(description="Who")] = None
    what: Annotated[str, FromVocabulary("action"), Field(description="What was done")]
    until: Annotated[Day | None, Field(description="Until when it holds")] = None
    note: Annotated[Text | None, Field(description="Note")] = None
    photo_id: Annotated[Digest | None, Field(description="Photograph of it")] = None


class Option(Record):
    """One way to act, costed; the options of one object are alternatives unless said otherwise."""

    record = "option"
    key = ("option_id",)
    option_id: Annotated[Key, Field(description="Number of the option")]
    object_id: Annotated[Key | None, ForeignKey("object"), Field(description="Object it is for")] = None
    location_id: Annotated[
        Key | None,
        ForeignKey("location"),
        Private("where things are kept is nobody else's business"),
        Field(description="Place it is for"),
    ] = None
    aim: Annotated[str | None, FromVocabulary("aim"), Field(description="Preventive, remedial, restoration")] = None
    benefit: Annotated[str | None, FromVocabulary("benefit"), Field(description="What it is good for")] = None
    steps: Steps = None
    loss_in_doing: Annotated[Share | None, Field(description="Share of value the treatment itself may cost")] = None
    skill: Annotated[str | None, FromVocabulary("skill"), Field(description="Whose hours")] = None
    hours_low: Annotated[Hours | None, COSTS, Field(description="Hours, low")] = None
    hours_likely: Annotated[Hours | None, COSTS, Field(description="Hours, likely")] = None
    hours_high: Annotated[Hours | None, COSTS, Field(description="Hours, high")] = None
    tests_hours: Annotated[Hours | None, COSTS, Field(description="Hours of tests before")] = None
    waiting_days: Annotated[Days | None, Field(description="Days it must lie")] = None
    materials_cost: Annotated[Money | None, COSTS, Field(description="Materials")] = None
    currency: Annotated[Currency | None, COSTS, Field(description="ISO 4217")] = None
    estimate_class: Annotated[
        str | None, FromVocabulary("estimate_class"), Field(description="How firm the estimate is")
    ] = None
    retreatability: Annotated[
        str | None, FromVocabulary("retreatability"), Field(description="Whether it can be done again")
    ] = None
    compensation: Annotated[str | None, FromVocabulary("compensation"), Field(description="How far a fill passes")] = (
        None
    )
    requires: Annotated[str | None, FromVocabulary("qualified"), Field(description="Qualified person it needs")] = None
    alternative_to: Annotated[Name | None, Field(description="Other option it excludes, where `excludes` is empty")] = (
        None
    )
    needs: Annotated[list[Key] | None, Field(description="Options to be done before it or in the same year")] = None
    excludes: Annotated[list[Key] | None, Field(description="Options that are not done if it is")] = None
    together_with: Annotated[
        list[Key] | None,
        Field(description="Options of the same object that may be done as well; without it they are alternatives"),
    ] = None
    setup_group: Annotated[
        Key | None, ForeignKey("setup_group"), Field(description="Work it shares with others in one year")
    ] = None
    lasts_years: Annotated[Years | None, Field(description="Years its effect lasts; empty: to the end")] = None
    yearly_cost: Annotated[Money | None, COSTS, Field(description="Cost each year after, of an option for a place")] = (
        None
    )
    bench_days: Annotated[Days | None, COSTS, Field(description="Days it takes up the bench")] = None
    status: Annotated[
        str | None, FromVocabulary("option_status"), Field(description="Open, accepted, done, dropped")
    ] = None


class OptionEffect(Record):
    """What an option does to one hazard."""

    record = "option_effect"
    key = ("option_id", "hazard_id")
    option_id: OptionId
    hazard_id: Annotated[Key, Field(description="Hazard: damage:NUMBER or repair:NUMBER")]
    rate_left: Annotated[Share, Field(description="Share of the hazard's rate left afterwards")]


class Treatment(Record):
    """What was done."""

    record = "treatment"
    key = ("treatment_id",)
    known_from = ("started_on", "finished_on")
    ended_by = {"finished_on": ("hours", "materials_cost")}
    treatment_id: Annotated[Key, Field(description="Number of the treatment")]
    option_id: Annotated[Key | None, ForeignKey("option"), Field(description="Option it carried out")] = None
    object_id: ObjectId
    started_on: Annotated[Day | None, Field(description="Begun")] = None
    finished_on: Annotated[Day | None, Field(description="Finished")] = None
    done_by: Annotated[PersonName | None, Private("names of staff stay in the house"), Field(description="Who")] = None
    authorised_by: Annotated[
        PersonName | None, Private("names of staff stay in the house"), Field(description="Who allowed it")
    ] = None
    hours: Annotated[Hours | None, COSTS, Field(description="Hours it took")] = None
    materials_cost: Annotated[Money | None, COSTS, Field(description="Materials")] = None
    currency: Annotated[Currency | None, COSTS, Field(description="ISO 4217")] = None
    steps: Steps = None
    follow_up_on: Annotated[Day | None, Field(description="When to look at the result")] = None
    report_on: Annotated[Day | None, Field(description="Day the report was written")] = None
    note: Annotated[Text | None, Field(description="Note")] = None


class MaterialUse(Record):
    """One material at one place in one treatment."""

    record = "material_use"
    key = ("treatment_id", "part", "material", "function")
    treatment_id: TreatmentId
    part: Annotated[Key, Field(description="Part")]
    material: Annotated[str, FromVocabulary("repair_material"), Field(description="Material")]
    function: Annotated[str, FromVocabulary("repair_function"), Field(description="What it does there")]
    soluble_in: Annotated[Text | None, Field(description="What it dissolves in, as tested or documented")] = None
    batch: Annotated[Name | None, Field(description="Batch")] = None
    area_mm2: Annotated[SquareMillimetres | None, Field(description="Area")] = None
    colour_before: Annotated[Name | None, Field(description="CIE L*a*b*, illuminant, observer, before")] = None
    colour_after: Annotated[Name | None, Field(description="CIE L*a*b*, illuminant, observer, after")] = None


class YearMoney(Record):
    """Money of one fund for one year."""

    record = "year_money"
    key = ("year", "fund")
    year: Annotated[Year, Field(description="Year")]
    fund: Annotated[Key, COSTS, Field(description="Fund")]
    money: Annotated[Money, COSTS, Field(description="Amount")]
    currency: Annotated[Currency, Field(description="ISO 4217")]
    spend_by: Annotated[Day | None, COSTS, Field(description="Last day it can be spent")] = None
    carries_over: Annotated[bool | None, COSTS, Field(description="What is left may be spent in later years")] = None


class YearHours(Record):
    """Hours of one skill for one year."""

    record = "year_hours"
    key = ("year", "skill")
    year: Annotated[Year, Field(description="Year")]
    skill: Annotated[str, FromVocabulary("skill"), Field(description="Whose hours")]
    hours: Annotated[Hours, COSTS, Field(description="Hours there are")]


class OwnRate(Record):
    """The museum's own or chosen rate, in place of a starting value."""

    record = "own_rate"
    key = ("rate_table", "term", "state")
    rate_table: Annotated[
        Literal["damage", "repair", "repair_material"], Field(description="Damage, repair or repair material")
    ]
    term: Annotated[Key, Field(description="Row of that table")]
    state: Annotated[Key, Field(description="Activity or stability")]
    years_short: Annotated[
        Number | None, Field(gt=0, le=1e5, description="Years, short: five in a hundred are shorter")
    ] = None
    years_likely: Annotated[Number | None, Field(gt=0, le=1e5, description="Years, median")] = None
    years_long: Annotated[
        Number | None, Field(gt=0, le=1e5, description="Years, long: five in a hundred are longer")
    ] = None
    loss_depth: Annotated[Share | None, Field(description="Share of the value at risk lost at one event")] = None
    spread: Annotated[
        Number | None, Field(ge=0, le=100, description="How far objects differ: gamma variance of the rate, mean 1")
    ] = None
    basis: Annotated[Text | None, Field(description="Where the figures come from")] = None
    chosen: Annotated[Literal["starting", "own", "learned"], Field(description="Starting, own or learned")]
    set_by: Annotated[PersonName | None, Private("names of staff stay in the house"), Field(description="Who")] = None
    set_on: Annotated[Day | None, Field(description="When")] = None
    why: Annotated[Text | None, Field(description="Why")] = None
