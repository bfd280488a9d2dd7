"""What a plan of treatments rests on beside options, and the plans that were drawn up."""

from typing import Annotated, Literal

from pydantic import Field

from schemas.fields import (
    Day,
    ForeignKey,
    FromVocabulary,
    Hours,
    Key,
    Money,
    Number,
    Private,
    Record,
    Share,
    SquareMillimetres,
    Text,
    Year,
    Years,
)
from schemas.records.care import COSTS, OptionId
from schemas.records.catalogue import PersonName

DRAFT, ACCEPTED, SUPERSEDED = "draft", "accepted", "superseded"
FROZEN = (ACCEPTED, SUPERSEDED)  # of a plan: it changes no more
LOAN = "loan"


class OptionAdds(Record):
    """What an option leaves behind that can fail."""

    record = "option_adds"
    key = ("option_id", "part", "material")
    option_id: OptionId
    part: Annotated[Key, Field(description="Part it is on")]
    material: Annotated[str, FromVocabulary("repair_material"), Field(description="Material")]
    function: Annotated[str, FromVocabulary("repair_function"), Field(description="What it does")]
    area_mm2: Annotated[SquareMillimetres | None, Field(description="Area")] = None


class LocationEffect(Record):
    """What an option for a place does to a group of hazards of what stands there."""

    record = "location_effect"
    key = ("option_id", "hazard_group")
    option_id: OptionId
    hazard_group: Annotated[Key, Field(description="Group of climate or of handling (rates.toml)")]
    rate_factor: Annotated[Share, Field(description="Share of the rate left afterwards")]


class SetupGroup(Record):
    """Work shared by all options of a group that are done in one year."""

    record = "setup_group"
    key = ("setup_group",)
    setup_group: Annotated[Key, Field(description="Name of the group")]
    skill: Annotated[str | None, FromVocabulary("skill"), Field(description="Whose hours")] = None
    hours: Annotated[Hours | None, COSTS, Field(description="Hours, once a year")] = None
    money: Annotated[Money | None, COSTS, Field(description="Money, once a year")] = None


class Must(Record):
    """What has to be done by a day, whatever it prevents."""

    record = "must"
    key = ("must_id",)
    must_id: Annotated[Key, Field(description="Number")]
    object_id: Annotated[
        Key | None, ForeignKey("object"), Field(description="Object for which some option is done")
    ] = None
    option_id: Annotated[Key | None, ForeignKey("option"), Field(description="The very option")] = None
    done_by: Annotated[Day, Field(description="Last day")]
    because: Annotated[Literal["loan", "danger_to_people", "decision"], Field(description="Why it must")]
    loan_id: Annotated[Key | None, ForeignKey("loan"), Field(description="Loan it must be ready for")] = None


class Plan(Record):
    """A plan of treatments: drawn up, accepted, or followed by a later one."""

    record = "plan"
    key = ("plan_id",)
    known_from = ("made_on",)
    plan_id: Annotated[Key, Field(description="Number of the plan")]
    made_on: Annotated[Day, Field(description="Day it was drawn up")]
    made_by: Annotated[PersonName | None, Private("names of staff stay in the house"), Field(description="Who")] = None
    first_year: Annotated[Year, Field(description="First year")]
    years: Annotated[int, Field(ge=1, le=10, description="Years it plans")]
    horizon: Annotated[Years, Field(description="Years over which loss is counted")]
    status: Annotated[Literal["draft", "accepted", "superseded"], Field(description="Where it stands")]
    unit: Annotated[Literal["share", "money"], Field(description="Unit of what is prevented")]
    prevented: Annotated[Number, COSTS, Field(description="Loss prevented, in its unit")]
    bound: Annotated[Number, COSTS, Field(description="What no plan can exceed, in its unit")]
    stopped: Annotated[Number | None, COSTS, Field(description="Seconds after which the clock ended it")] = None
    note: Annotated[Text | None, Field(description="Note")] = None


class PlanLine(Record):
    """One option of a plan and the year it is planned for."""

    record = "plan_line"
    key = ("plan_id", "option_id")
    plan_id: Annotated[Key, ForeignKey("plan"), Field(description="Plan")]
    option_id: OptionId
    year: Annotated[Year, Field(description="Year")]
    hours: Annotated[Hours | None, COSTS, Field(description="Hours planned")] = None
    money: Annotated[Money | None, COSTS, Field(description="Money planned")] = None
    worth: Annotated[Number | None, COSTS, Field(description="Loss it prevents, in the plan's unit")] = None
    must: Annotated[bool | None, Field(description="It had to be")] = None
