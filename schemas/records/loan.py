"""Loans out and in: the loan, its venues, its objects and limits, and each signed state."""

from typing import Annotated

from pydantic import Field

from schemas.fields import (
    Celsius,
    Day,
    Digest,
    ForeignKey,
    FromVocabulary,
    Grams,
    Hours,
    Key,
    Lux,
    Millimetres,
    Moment,
    Name,
    Number,
    Percent,
    Private,
    Record,
    Text,
    Unit,
)
from schemas.records.catalogue import ObjectId, PersonName

LoanId = Annotated[Key, ForeignKey("loan")]
Orientation = Annotated[str | None, FromVocabulary("orientation"), Field(description="How it lies or stands")]
HandlingPoints = Annotated[Text | None, Field(description="Where it may be held, and where not")]
People = Annotated[int | None, Field(ge=1, le=100, description="How many people carry it")]
Mount = Annotated[Text | None, Field(description="Mount, and where it bears")]
CaseNeed = Annotated[Text | None, Field(description="What the case must be or hold")]


class Loan(Record):
    """A loan out or in."""

    record = "loan"
    key = ("loan_id",)
    loan_id: Annotated[Key, Field(description="Number of the loan")]
    direction: Annotated[str, FromVocabulary("loan_direction"), Field(description="Out or in")]
    borrower: Annotated[Name | None, Field(description="Borrower, or lender of a loan in")] = None
    purpose: Annotated[Text | None, Field(description="What for")] = None
    agreement_ref: Annotated[Name | None, Field(description="Reference of the agreement")] = None
    indemnity_ref: Annotated[
        Name | None,
        Private("cover is between lender and insurer"),
        Field(description="Reference of insurance or indemnity"),
    ] = None
    emergency_contact: Annotated[
        Name | None,
        Field(description="Whom to telephone at the other side, where its own contact is empty"),
    ] = None
    status: Annotated[str | None, FromVocabulary("loan_status"), Field(description="How far it is")] = None
    asked_on: Annotated[Day | None, Field(description="Day it was asked for")] = None
    answer_by: Annotated[Day | None, Field(description="Day by which an answer is due")] = None
    lender_contact: Annotated[Name | None, Field(description="Whom to telephone at the lender, at any hour")] = None
    courier_contact: Annotated[Name | None, Field(description="Whom to telephone of the couriers")] = None
    borrower_contact: Annotated[Name | None, Field(description="Whom to telephone at the borrower, at any hour")] = None


class LoanLeg(Record):
    """One venue of a loan."""

    record = "loan_leg"
    key = ("loan_id", "leg")
    loan_id: LoanId
    leg: Annotated[int, Field(ge=1, le=1000, description="Number of the venue in order")]
    venue: Annotated[Name | None, Field(description="Venue")] = None
    starts_on: Annotated[Day | None, Field(description="First day")] = None
    ends_on: Annotated[Day | None, Field(description="Last day")] = None


class LoanObject(Record):
    """An object on a loan, with its limits."""

    record = "loan_object"
    key = ("loan_id", "object_id", "part")
    loan_id: LoanId
    object_id: ObjectId
    part: Annotated[Key, Field(description="Part, or the whole")]
    rh_low: Annotated[Percent | None, Field(description="Lowest relative humidity")] = None
    rh_high: Annotated[Percent | None, Field(description="Highest relative humidity")] = None
    temperature_low: Annotated[Celsius | None, Field(description="Lowest temperature")] = None
    temperature_high: Annotated[Celsius | None, Field(description="Highest temperature")] = None
    lux_most: Annotated[Lux | None, Field(description="Highest illuminance")] = None
    uv_most: Annotated[
        Number | None, Unit("µW/lm"), Field(ge=0, le=1e4, description="Highest ultraviolet, microwatt per lumen")
    ] = None
    crate_no: Annotated[Name | None, Field(description="Number of the crate")] = None
    packing: Annotated[Text | None, Field(description="How it is packed, in order of unpacking")] = None
    areas_to_watch: Annotated[Text | None, Field(description="Areas to watch")] = None
    permits: Annotated[Text | None, Field(description="Permits it needs")] = None
    rh_change_24h: Annotated[Percent | None, Field(description="Largest change of humidity within 24 hours")] = None
    temperature_change_24h: Annotated[
        Celsius | None, Field(ge=0, description="Largest change of temperature within 24 hours")
    ] = None
    light_hours: Annotated[
        Number | None, Unit("lx h"), Field(ge=0, le=1e9, description="Most light in all, for this loan")
    ] = None
    orientation: Orientation = None
    handling_points: HandlingPoints = None
    people: People = None
    mount: Mount = None
    case_need: CaseNeed = None
    conditions_before_packing: Annotated[
        Text | None, Field(description="What must be done before it is packed, one line each")
    ] = None
    conditions_met_on: Annotated[Day | None, Field(description="Day the last of these was done")] = None
    packed_height_mm: Annotated[Millimetres | None, Field(description="Height as packed")] = None
    packed_width_mm: Annotated[Millimetres | None, Field(description="Width as packed")] = None
    packed_depth_mm: Annotated[Millimetres | None, Field(description="Depth as packed")] = None
    packed_mass_g: Annotated[Grams | None, Field(description="Mass as packed")] = None


class LoanState(Record):
    """The state of an object at one point of a loan, signed by both sides."""

    record = "loan_state"
    key = ("loan_id", "object_id", "state", "stated_on")
    known_from = ("stated_on",)
    loan_id: LoanId
    object_id: ObjectId
    state: Annotated[str, FromVocabulary("loan_state"), Field(description="Outgoing, incoming, ...")]
    stated_on: Annotated[Moment, Field(description="Time, UTC")]
    place: Annotated[Name | None, Field(description="Where")] = None
    check_id: Annotated[Key | None, ForeignKey("condition_check"), Field(description="Check it rests on")] = None
    person_ours: Annotated[PersonName | None, Field(description="Who signed for us")] = None
    signed_ours_on: Annotated[Moment | None, Field(description="When, UTC")] = None
    person_theirs: Annotated[PersonName | None, Field(description="Who signed for them")] = None
    signed_theirs_on: Annotated[Moment | None, Field(description="When, UTC")] = None
    packing_as_found: Annotated[Text | None, Field(description="Packing as found")] = None
    shock_indicator: Annotated[Name | None, Field(description="Reading of the shock indicator")] = None
    courier: Annotated[PersonName | None, Field(description="Courier who was there")] = None
    seal: Annotated[Name | None, Field(description="Number of the seal")] = None
    hours_closed: Annotated[Hours | None, Field(description="Hours the crate stood closed before it was opened")] = None
    rh_percent: Annotated[Percent | None, Field(description="Relative humidity then")] = None
    temperature_c: Annotated[Celsius | None, Field(description="Temperature then")] = None


class LoanFinding(Record):
    """What one stage of a loan saw of one damage or repair, compared with the stage before."""

    record = "loan_finding"
    key = ("finding_id",)
    finding_id: Annotated[Key, Field(description="Number of the finding")]
    loan_id: LoanId
    object_id: ObjectId
    state: Annotated[str, FromVocabulary("loan_state"), Field(description="Stage of the loan")]
    damage_id: Annotated[Key | None, ForeignKey("damage"), Field(description="Damage it is about")] = None
    repair_id: Annotated[Key | None, ForeignKey("repair"), Field(description="Repair it is about")] = None
    outcome: Annotated[str, FromVocabulary("loan_outcome"), Field(description="Unchanged, changed, new, ...")]
    photo_id: Annotated[Digest | None, Field(description="Photograph of it")] = None
    note: Annotated[Text | None, Field(description="Note")] = None


class Requirement(Record):
    """How an object is to be held, carried and shown, whatever the loan."""

    record = "requirement"
    key = ("object_id",)
    object_id: ObjectId
    handling_points: HandlingPoints = None
    people: People = None
    orientation: Orientation = None
    mount: Mount = None
    case_need: CaseNeed = None
    lux_most: Annotated[Lux | None, Field(description="Highest illuminance")] = None
    uv_most: Annotated[
        Number | None, Unit("µW/lm"), Field(ge=0, le=1e4, description="Highest ultraviolet, microwatt per lumen")
    ] = None
    light_hours: Annotated[Number | None, Unit("lx h"), Field(ge=0, le=1e9, description="Most light in a year")] = None
    reason: Annotated[Text | None, Field(description="Why")] = None
    set_by: Annotated[PersonName | None, Private("names of staff stay in the house"), Field(description="Who")] = None
    set_on: Annotated[Day | None, Field(description="When")] = None
