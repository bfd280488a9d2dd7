"""What was seen: surveys, checks, what a check covered, damage and the observations of it, dangers to people."""

from typing import Annotated

from pydantic import Field

from schemas.fields import (
    Celsius,
    Count,
    Day,
    ForeignKey,
    FromVocabulary,
    Key,
    Millimetres,
    Minutes,
    Name,
    Number,
    PartialDate,
    Percent,
    Private,
    Record,
    Share,
    SquareMillimetres,
    Text,
)
from schemas.records.catalogue import ObjectId, PersonName

CheckId = Annotated[Key, ForeignKey("condition_check")]
DamageId = Annotated[Key, ForeignKey("damage")]
HOUSE_NAMES = Private("names of staff stay in the house unless they sign")


class Survey(Record):
    """A round of checks with a question."""

    record = "survey"
    key = ("survey_id",)
    survey_id: Annotated[Key, Field(description="Number of the survey")]
    question: Annotated[Text | None, Field(description="What is asked")] = None
    decision_it_serves: Annotated[Text | None, Field(description="What will be decided with the answer")] = None
    definitions_version: Annotated[Name | None, Field(description="Version of the definitions used")] = None
    frame: Annotated[Text | None, Field(description="Which objects could be drawn")] = None
    selection: Annotated[str | None, FromVocabulary("selection"), Field(description="How the objects were chosen")] = (
        None
    )
    design: Annotated[Name | None, Field(description="How they were drawn")] = None
    seed: Annotated[int | None, Field(ge=0, le=2**31, description="Seed of the draw")] = None
    starts_on: Annotated[Day | None, Field(description="First day")] = None
    ends_on: Annotated[Day | None, Field(description="Last day")] = None
    sampling: Annotated[str | None, FromVocabulary("sampling"), Field(description="Design of the sample")] = None
    size: Annotated[Count | None, Field(description="Objects to look at")] = None
    margin: Annotated[Share | None, Field(description="Margin of a share that was aimed at, either way")] = None
    confidence: Annotated[Share | None, Field(description="Chance with which limits hold")] = None
    cost_model: Annotated[Text | None, Field(description="What a check was taken to cost")] = None


class SurveyUnit(Record):
    """One object that a survey is to look at: how likely it was to be drawn, and what came of it."""

    record = "survey_unit"
    key = ("survey_id", "unit_id")
    survey_id: Annotated[Key, ForeignKey("survey"), Field(description="Survey")]
    unit_id: Annotated[Key, ForeignKey("object"), Field(description="Object")]
    stratum: Annotated[Name | None, Field(description="Group it was drawn in")] = None
    cluster: Annotated[Key | None, ForeignKey("location"), Field(description="Place it was drawn with")] = None
    chance: Annotated[Share | None, Field(description="Chance of being drawn")] = None
    cluster_chance: Annotated[Share | None, Field(description="Chance of its place of being drawn")] = None
    draw_order: Annotated[Count | None, Field(description="Turn in which it was drawn")] = None
    outcome: Annotated[
        str | None, FromVocabulary("survey_outcome"), Field(description="What came of it, where no check of it says so")
    ] = None


class ConditionCheck(Record):
    """One check of one object on one day for one reason."""

    record = "condition_check"
    key = ("check_id",)
    known_from = ("checked_on",)
    check_id: Annotated[Key, Field(description="Number of the check")]
    object_id: ObjectId
    survey_id: Annotated[Key | None, ForeignKey("survey"), Field(description="Survey it belongs to")] = None
    checked_on: Annotated[PartialDate | None, Field(description="Day of the check; only a remark may lack it")] = None
    minutes: Annotated[Minutes | None, Field(description="Time it took")] = None
    examiner: Annotated[PersonName | None, HOUSE_NAMES, Field(description="Who looked")] = None
    witness: Annotated[PersonName | None, HOUSE_NAMES, Field(description="Who was there")] = None
    occasion: Annotated[str | None, FromVocabulary("occasion"), Field(description="Why it was looked at")] = None
    visit: Annotated[str | None, FromVocabulary("visit"), Field(description="Whether it was found and reached")] = None
    look: Annotated[str, FromVocabulary("look"), Field(description="How closely it was looked at")]
    method: Annotated[Text | None, Field(description="Light and instruments")] = None
    definitions_version: Annotated[Name | None, Field(description="Version of the definitions used")] = None
    grade: Annotated[
        str | None, FromVocabulary("grade"), Field(description="Overall grade: the worst single condition")
    ] = None
    grade_reason: Annotated[Text | None, Field(description="Reason for a grade better than its floor")] = None
    summary_observed: Annotated[Text | None, Field(description="What was seen")] = None
    summary_interpreted: Annotated[Text | None, Field(description="What it is taken to mean")] = None
    next_check_on: Annotated[Day | None, Field(description="When to look again")] = None
    source: Annotated[str | None, FromVocabulary("check_source"), Field(description="Where the record comes from")] = (
        None
    )
    supersedes_check_id: Annotated[
        Key | None, ForeignKey("condition_check"), Field(description="Check it corrects")
    ] = None
    signed_on: Annotated[Day | None, Field(description="Day it was signed; a signed check never changes")] = None
    place: Annotated[Name | None, Field(description="Where it was looked at: studio, gallery, crate")] = None
    purpose: Annotated[Text | None, Field(description="What the check was for")] = None
    saw_previous: Annotated[bool | None, Field(description="The examiner had the check before at hand")] = None
    rh_percent: Annotated[Percent | None, Field(description="Relative humidity then")] = None
    temperature_c: Annotated[Celsius | None, Field(description="Temperature then")] = None
    loan_id: Annotated[Key | None, ForeignKey("loan"), Field(description="Loan it was made for")] = None
    stage: Annotated[str | None, FromVocabulary("loan_state"), Field(description="Stage of that loan")] = None


class Coverage(Record):
    """What of the object a check saw."""

    record = "coverage"
    key = ("check_id", "part", "side")
    check_id: CheckId
    part: Annotated[Key, Field(description="Part")]
    side: Annotated[str, FromVocabulary("side"), Field(description="Side")]
    seen: Annotated[str, FromVocabulary("seen"), Field(description="Seen or not")]
    why: Annotated[Text | None, Field(description="Why not")] = None


class Damage(Record):
    """One damage, with an identity that lasts from check to check."""

    record = "damage"
    key = ("damage_id",)
    known_from = ("first_seen_on",)
    ended_by = {"closed_on": ("closed_by",)}
    damage_id: Annotated[Key, Field(description="Number of the damage")]
    object_id: ObjectId
    part: Annotated[Key, Field(description="Part it is on")]
    side: Annotated[str | None, FromVocabulary("side"), Field(description="Side it is on")] = None
    kind: Annotated[str, FromVocabulary("damage"), Field(description="Kind of damage")]
    origin: Annotated[str | None, FromVocabulary("origin"), Field(description="In use, or a flaw of manufacture")] = (
        None
    )
    onset: Annotated[str | None, FromVocabulary("onset"), Field(description="When it began")] = None
    cause: Annotated[str | None, FromVocabulary("agent"), Field(description="What caused it")] = None
    cause_certainty: Annotated[str | None, FromVocabulary("certainty"), Field(description="How sure that is")] = None
    visibility: Annotated[str | None, FromVocabulary("visibility"), Field(description="How plainly it shows")] = None
    position: Annotated[Text | None, Field(description="Where on the part")] = None
    first_seen_on: Annotated[PartialDate | None, Field(description="When it was first seen")] = None
    closed_on: Annotated[Day | None, Field(description="Day it was closed by treatment or superseded")] = None
    closed_by: Annotated[Name | None, Field(description="Treatment or damage that closed it")] = None


class Observation(Record):
    """What one condition check saw of one damage."""

    record = "observation"
    key = ("check_id", "damage_id")
    check_id: CheckId
    damage_id: DamageId
    change: Annotated[
        str | None, FromVocabulary("change"), Field(description="Change since the check compared with")
    ] = None
    compared_with: Annotated[Name | None, Field(description="Check, photograph or report compared with")] = None
    activity: Annotated[str | None, FromVocabulary("activity"), Field(description="Whether change is under way")] = None
    evidence: Annotated[Text | None, Field(description="What shows it")] = None
    severity: Annotated[str | None, FromVocabulary("severity"), Field(description="How bad")] = None
    count: Annotated[Count | None, Field(description="How many")] = None
    length_mm: Annotated[Millimetres | None, Field(description="Length")] = None
    area_mm2: Annotated[SquareMillimetres | None, Field(description="Area")] = None
    extent_band: Annotated[str | None, FromVocabulary("extent_band"), Field(description="Share of the part")] = None
    measurement_error: Annotated[
        Number | None, Field(ge=0, le=1e6, description="Standard error, in the unit of the measurement")
    ] = None
    stage: Annotated[int | None, Field(ge=1, le=5, description="Stage of crizzling, 1 to 5")] = None
    note: Annotated[Text | None, Field(description="Note")] = None


class DangerToPeople(Record):
    """A danger to people that travels with the object."""

    record = "danger_to_people"
    key = ("object_id", "part", "agent")
    ended_by = {
        "made_safe_on": (),
        "measured_on": ("measured", "unit", "measured_by", "distance_mm", "background", "instrument"),
        "cleared_to_travel_on": ("cleared_by",),
    }
    object_id: ObjectId
    part: Annotated[Key, Field(description="Part it sits in")]
    agent: Annotated[str, FromVocabulary("danger_agent"), Field(description="What the danger is")]
    basis: Annotated[str, FromVocabulary("danger_basis"), Field(description="Presumed, tested or documented")]
    measured: Annotated[Number | None, Field(ge=0, le=1e12, description="Measured figure")] = None
    unit: Annotated[Name | None, Field(description="Unit of that figure")] = None
    measured_on: Annotated[Day | None, Field(description="Day measured")] = None
    measured_by: Annotated[PersonName | None, Field(description="Who measured")] = None
    precautions: Annotated[Text | None, Field(description="Precautions in force, by whom ordered")] = None
    made_safe_on: Annotated[Day | None, Field(description="Day a qualified person said it is safe as kept")] = None
    review_on: Annotated[Day | None, Field(description="When to look again")] = None
    distance_mm: Annotated[Millimetres | None, Field(description="Distance at which it was measured")] = None
    background: Annotated[Name | None, Field(description="Background at that time and place")] = None
    instrument: Annotated[Name | None, Field(description="Instrument")] = None
    cleared_to_travel_on: Annotated[Day | None, Field(description="Day a qualified person released it to travel")] = (
        None
    )
    cleared_by: Annotated[PersonName | None, Field(description="Who released it, and with what qualification")] = None


class Evidence(Record):
    """A report, photograph, radiograph or analysis, by content hash."""

    record = "evidence"
    key = ("evidence_id", "object_id")
    known_from = ("dated",)
    evidence_id: Annotated[Key, Field(description="Number or hash of the document")]
    object_id: ObjectId
    kind: Annotated[str | None, FromVocabulary("evidence_kind"), Field(description="What it is")] = None
    dated: Annotated[PartialDate | None, Field(description="Its date")] = None
    made_by: Annotated[PersonName | None, Field(description="Who made it")] = None
    what_it_shows: Annotated[Text | None, Field(description="What it shows")] = None
