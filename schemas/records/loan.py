"""Loans out and in: the loan, its venues, its objects and limits, and each signed state."""

from typing import Annotated

from pydantic import Field

from schemas.fields import (
    Celsius,
    Day,
    ForeignKey,
    FromVocabulary,
    Key,
    Lux,
    Moment,
    Name,
    Number,
    Percent,
    Private,
    Record,
    Text,
)
from schemas.records.catalogue import ObjectId, PersonName

LoanId = Annotated[Key, ForeignKey("loan")]


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
    emergency_contact: Annotated[Name | None, Field(description="Whom to telephone, at any hour")] = None


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
    uv_most: Annotated[Number | None, Field(ge=0, le=1e4, description="Highest ultraviolet, microwatt per lumen")] = (
        None
    )
    crate_no: Annotated[Name | None, Field(description="Number of the crate")] = None
    packing: Annotated[Text | None, Field(description="How it is packed, in order of unpacking")] = None
    areas_to_watch: Annotated[Text | None, Field(description="Areas to watch")] = None
    permits: Annotated[Text | None, Field(description="Permits it needs")] = None


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
