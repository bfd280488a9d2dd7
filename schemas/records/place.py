"""Where things are and in what air: locations, faults of a place, moves, climate readings and targets."""

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
    Months,
    Name,
    Percent,
    Private,
    Record,
    Text,
)
from schemas.records.catalogue import ObjectId, PersonName

LOCATION_IS_PRIVATE = Private("where things are kept is nobody else's business")


class Location(Record):
    """A site, building, room, unit, shelf or box; locations form a tree."""

    record = "location"
    key = ("location_id",)
    location_id: Annotated[Key, LOCATION_IS_PRIVATE, Field(description="Short name of the place")]
    within: Annotated[
        Key | None, ForeignKey("location"), LOCATION_IS_PRIVATE, Field(description="The place it lies in")
    ] = None
    name: Annotated[Name | None, LOCATION_IS_PRIVATE, Field(description="Name as spoken")] = None
    kind: Annotated[
        str | None, FromVocabulary("location_kind"), Field(description="Site, room, shelf, on loan, ...")
    ] = None
    enclosure: Annotated[
        str | None, FromVocabulary("enclosure"), Field(description="Open, closed, sealed, conditioned")
    ] = None
    materials: Annotated[Text | None, Field(description="What the furniture is made of")] = None
    sorbent_renewed_on: Annotated[Day | None, Field(description="Day the sorbent was last renewed")] = None
    sorbent_lasts_months: Annotated[Months | None, Field(description="How long the sorbent lasts")] = None
    filter_renewed_on: Annotated[Day | None, Field(description="Day the filter was last renewed")] = None
    filter_lasts_months: Annotated[Months | None, Field(description="How long the filter lasts")] = None
    logger_id: Annotated[Key | None, LOCATION_IS_PRIVATE, Field(description="Logger that measures this place")] = None


class PlaceCheck(Record):
    """What is wrong with a place besides its climate."""

    record = "place_check"
    key = ("location_id", "seen_on", "fault")
    known_from = ("seen_on",)
    ended_by = {"mended_on": ()}
    location_id: Annotated[Key, ForeignKey("location"), LOCATION_IS_PRIVATE, Field(description="Number of the place")]
    seen_on: Annotated[Day, Field(description="Day it was seen")]
    examiner: Annotated[PersonName | None, Field(description="Who looked")] = None
    fault: Annotated[str, FromVocabulary("place_fault"), Field(description="What is wrong")]
    severity: Annotated[str | None, FromVocabulary("severity"), Field(description="How bad")] = None
    mended_on: Annotated[Day | None, Field(description="Day it was put right")] = None
    note: Annotated[Text | None, LOCATION_IS_PRIVATE, Field(description="Note")] = None


class Move(Record):
    """An object or part changed place."""

    record = "move"
    key = ("move_id",)
    known_from = ("moved_on",)
    move_id: Annotated[Key, Field(description="Number of the move")]
    object_id: ObjectId
    part: Annotated[Key | None, Field(description="Part, or the whole")] = None
    moved_on: Annotated[Day, Field(description="Day")]
    moved_from: Annotated[
        Key | None, ForeignKey("location"), LOCATION_IS_PRIVATE, Field(description="Place it left")
    ] = None
    moved_to: Annotated[
        Key | None, ForeignKey("location"), LOCATION_IS_PRIVATE, Field(description="Place it came to")
    ] = None
    reason: Annotated[Text | None, Field(description="Why")] = None
    moved_by: Annotated[PersonName | None, Private("names of staff stay in the house"), Field(description="Who")] = None
    packed: Annotated[str | None, FromVocabulary("packing"), Field(description="How it travelled")] = None
    accident: Annotated[bool | None, Field(description="Something happened to it on the way")] = None


class ClimateReading(Record):
    """One reading of one logger."""

    record = "climate_reading"
    key = ("logger_id", "read_at")
    logger_id: Annotated[Key, LOCATION_IS_PRIVATE, Field(description="Logger")]
    location_id: Annotated[
        Key | None, ForeignKey("location"), LOCATION_IS_PRIVATE, Field(description="Place it measured")
    ] = None
    read_at: Annotated[Moment, Field(description="Time of the reading, UTC")]
    source_zone: Annotated[Name | None, Field(description="Zone the logger wrote in")] = None
    temperature_c: Annotated[Celsius | None, Field(description="Temperature")] = None
    rh_percent: Annotated[Percent | None, Field(description="Relative humidity")] = None
    lux: Annotated[Lux | None, Field(description="Illuminance")] = None
    read_in: Annotated[
        int | None, Field(ge=1, description="Change in the journal that brought it in; the store writes it")
    ] = None


class Target(Record):
    """The climate an object or class of objects should have, why, and who said so."""

    record = "target"
    key = ("target_id",)
    known_from = ("set_on",)
    target_id: Annotated[Key, Field(description="Number of the target")]
    object_id: Annotated[Key | None, ForeignKey("object"), Field(description="Object it is for")] = None
    location_id: Annotated[
        Key | None, ForeignKey("location"), LOCATION_IS_PRIVATE, Field(description="Place it is for")
    ] = None
    rh_low: Annotated[Percent | None, Field(description="Lowest relative humidity")] = None
    rh_high: Annotated[Percent | None, Field(description="Highest relative humidity")] = None
    rh_change_24h: Annotated[Percent | None, Field(description="Largest change within 24 h")] = None
    temperature_low: Annotated[Celsius | None, Field(description="Lowest temperature")] = None
    temperature_high: Annotated[Celsius | None, Field(description="Highest temperature")] = None
    temperature_change_24h: Annotated[Celsius | None, Field(description="Largest change within 24 h")] = None
    reason: Annotated[Text | None, Field(description="Why; a room default has none")] = None
    set_by: Annotated[PersonName | None, Field(description="Who set it")] = None
    set_on: Annotated[Day | None, Field(description="When")] = None
    source: Annotated[Text | None, Field(description="Where the figures come from")] = None
