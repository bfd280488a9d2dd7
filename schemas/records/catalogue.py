"""What is there: objects, their parts and groups, the people, and how much a piece matters."""

from typing import Annotated

from pydantic import Field

from schemas.fields import (
    Count,
    Currency,
    Day,
    ForeignKey,
    FromVocabulary,
    Grams,
    Key,
    Millimetres,
    Money,
    Name,
    PartialDate,
    Private,
    Record,
    Share,
    SquareMillimetres,
    Text,
    Unit,
    Year,
)

# Every object has at least this part; a row that names no part means it.
WHOLE = "whole"
WHOLE_COLUMN = "part"

ObjectId = Annotated[Key, ForeignKey("object"), Field(description="Number of the object")]
PersonName = Annotated[str, Field(min_length=1, max_length=200)]


class EnamelObject(Record):
    """An enamelled object as catalogued."""

    record = "object"
    key = ("object_id",)
    object_id: Annotated[Key, Field(description="The museum's own number, as it writes it")]
    other_numbers: Annotated[Name | None, Field(description="Older or other numbers")] = None
    title: Annotated[Text | None, Field(description="Title or name as catalogued")] = None
    object_type: Annotated[str | None, FromVocabulary("object_type"), Field(description="What sort of thing it is")] = (
        None
    )
    count_of_items: Annotated[Count | None, Field(description="Pieces under this number")] = None
    culture: Annotated[Text | None, Field(description="Culture, school or place of making, as written")] = None
    period_text: Annotated[Text | None, Field(description="Date or period, as written")] = None
    earliest_year: Annotated[Year | None, Field(description="First year it can have been made")] = None
    latest_year: Annotated[Year | None, Field(description="Last year it can have been made")] = None
    technique: Annotated[
        list[Annotated[str, FromVocabulary("technique")]] | None, Field(description="Enamelling techniques")
    ] = None
    base_metal: Annotated[str | None, FromVocabulary("metal"), Field(description="Metal that carries the enamel")] = (
        None
    )
    wire_metal: Annotated[str | None, FromVocabulary("metal"), Field(description="Metal of the wires")] = None
    metal_finish: Annotated[
        str | None, FromVocabulary("metal_finish"), Field(description="Gilding, silvering, plating")
    ] = None
    counter_enamel: Annotated[
        str | None, FromVocabulary("counter_enamel"), Field(description="Enamel on the reverse")
    ] = None
    glass_stability: Annotated[
        str | None, FromVocabulary("glass_stability"), Field(description="Chemical stability")
    ] = None
    provenance_class: Annotated[
        str | None, FromVocabulary("provenance_class"), Field(description="How it came down to us")
    ] = None
    enamel_area_mm2: Annotated[SquareMillimetres | None, Field(description="Enamelled area")] = None
    height_mm: Annotated[Millimetres | None, Field(description="Largest height")] = None
    width_mm: Annotated[Millimetres | None, Field(description="Width or length")] = None
    depth_mm: Annotated[Millimetres | None, Field(description="Depth")] = None
    diameter_mm: Annotated[Millimetres | None, Field(description="Diameter")] = None
    mass_g: Annotated[Grams | None, Field(description="Mass")] = None
    location_id: Annotated[
        Key | None,
        ForeignKey("location"),
        Private("where things are kept is nobody else's business"),
        Field(description="Where it is now"),
    ] = None
    status: Annotated[
        str | None, FromVocabulary("object_status"), Field(description="Whose, and whether it is here")
    ] = None
    owner_id: Annotated[
        Key | None,
        ForeignKey("person"),
        Private("an owner's identity is the owner's to give"),
        Field(description="Owner, where not the museum"),
    ] = None
    value_points: Annotated[
        float | None,
        Unit("points"),
        Private("judgements of worth stay in the house"),
        Field(gt=0, le=100_000, allow_inf_nan=False, description="Value points; see significance"),
    ] = None
    insured_value: Annotated[Money | None, Private("values attract thieves"), Field(description="Insured value")] = None
    currency: Annotated[Currency | None, Private("goes with the insured value"), Field(description="ISO 4217")] = None
    condition_remark: Annotated[Text | None, Field(description="Remark on condition in the catalogue, as written")] = (
        None
    )
    condition_remark_on: Annotated[PartialDate | None, Field(description="Date of that remark")] = None
    description: Annotated[Text | None, Field(description="Description as catalogued")] = None
    maker: Annotated[Text | None, Field(description="Maker or workshop, as written")] = None
    marks: Annotated[Text | None, Field(description="Marks, signatures and stamps, as written")] = None
    inscription: Annotated[Text | None, Field(description="Inscription, as written")] = None
    credit_line: Annotated[Text | None, Field(description="Credit line, as printed")] = None
    acquired_text: Annotated[
        Text | None,
        Private("how and for how much a thing was acquired stays in the house"),
        Field(description="How and when it was acquired, as written"),
    ] = None
    dimensions_text: Annotated[Text | None, Field(description="Size, as written")] = None
    materials_text: Annotated[Text | None, Field(description="Materials and technique, as written")] = None
    framed: Annotated[bool | None, Field(description="It is in a frame")] = None
    glazed: Annotated[bool | None, Field(description="It lies behind glass or a clear sheet")] = None
    unstable_share: Annotated[
        Share | None, Field(description="Share of the enamel whose glass is chemically unstable")
    ] = None


class Part(Record):
    """A named part with its share of the object's value."""

    record = "part"
    key = ("object_id", "part")
    object_id: ObjectId
    part: Annotated[Key, Field(description="Name of the part")]
    part_kind: Annotated[str | None, FromVocabulary("part_kind"), Field(description="What the part is")] = None
    technique: Annotated[
        list[Annotated[str, FromVocabulary("technique")]] | None, Field(description="Enamelling techniques")
    ] = None
    base_metal: Annotated[str | None, FromVocabulary("metal"), Field(description="Metal that carries the enamel")] = (
        None
    )
    removable: Annotated[bool | None, Field(description="Can be taken off")] = None
    originality: Annotated[str | None, FromVocabulary("originality"), Field(description="Original or later")] = None
    value_share: Annotated[Share | None, Field(description="Share of the object's value; shares sum to 1")] = None
    enamel_area_mm2: Annotated[SquareMillimetres | None, Field(description="Enamelled area")] = None
    height_mm: Annotated[Millimetres | None, Field(description="Largest height")] = None
    width_mm: Annotated[Millimetres | None, Field(description="Width or length")] = None
    depth_mm: Annotated[Millimetres | None, Field(description="Depth")] = None
    location_id: Annotated[
        Key | None,
        ForeignKey("location"),
        Private("where things are kept is nobody else's business"),
        Field(description="Where it is, when kept apart"),
    ] = None


class ObjectGroup(Record):
    """An object's place in a pair, set, service, suite or one-number lot."""

    record = "object_group"
    key = ("group_id", "object_id", "part")
    group_id: Annotated[Key, Field(description="Number or name of the group")]
    kind: Annotated[str | None, FromVocabulary("group_kind"), Field(description="Pair, set, service, suite, lot")] = (
        None
    )
    object_id: ObjectId
    part: Annotated[Key, Field(description="Part, or the whole")]
    role: Annotated[Name | None, Field(description="What it is in the group")] = None
    completeness_share: Annotated[
        Share | None, Field(description="Share of the others' value that goes with the loss of this one")
    ] = None
    move_together: Annotated[bool | None, Field(description="Must not be moved alone")] = None


class Fragment(Record):
    """A detached piece that is kept."""

    record = "fragment"
    key = ("fragment_id",)
    known_from = ("from_damage_id",)
    fragment_id: Annotated[Key, Field(description="Number of the fragment")]
    object_id: ObjectId
    part: Annotated[Key | None, Field(description="Part it came from")] = None
    from_damage_id: Annotated[Key | None, ForeignKey("damage"), Field(description="Damage it came from")] = None
    bag_label: Annotated[Name | None, Field(description="What is written on the bag")] = None
    container: Annotated[Name | None, Field(description="What it lies in")] = None
    condition: Annotated[Text | None, Field(description="Condition of the piece")] = None
    checked_on: Annotated[Day | None, Field(description="Day it was last seen")] = None
    location_id: Annotated[
        Key | None,
        ForeignKey("location"),
        Private("where things are kept is nobody else's business"),
        Field(description="Where the bag is"),
    ] = None
    area_mm2: Annotated[SquareMillimetres | None, Field(description="Area of the piece")] = None
    position: Annotated[Text | None, Field(description="Where on the object it belongs")] = None
    status: Annotated[
        str | None, FromVocabulary("fragment_status"), Field(description="Loose, kept, reattached, lost")
    ] = None


class Person(Record):
    """Someone who may examine, treat or sign."""

    record = "person"
    key = ("person_id",)
    person_id: Annotated[Key, Field(description="Short name used in records")]
    name: Annotated[PersonName, Private("names of staff stay in the house unless they sign")]
    role: Annotated[Name | None, Field(description="Role in the house")] = None
    qualification: Annotated[Name | None, Field(description="Qualification")] = None
    organisation: Annotated[Name | None, Field(description="House or firm")] = None
    starts_on: Annotated[PartialDate | None, Field(description="First day")] = None
    ends_on: Annotated[PartialDate | None, Field(description="Last day")] = None


class Significance(Record):
    """One person's judgement of how much an object matters."""

    record = "significance"
    key = ("object_id", "judged_by", "judged_on")
    known_from = ("judged_on",)
    object_id: ObjectId
    value_points: Annotated[
        float,
        Unit("points"),
        Private("judgements of worth stay in the house"),
        Field(gt=0, le=100_000, allow_inf_nan=False, description="Value points, in steps 1, 3, 10, 30, 100, 300"),
    ]
    judged_by: Annotated[PersonName, Field(description="Who judged")]
    judged_on: Annotated[Day, Field(description="When")]
    reason: Annotated[Text | None, Private("judgements of worth stay in the house"), Field(description="Why")] = None


class FurtherFact(Record):
    """What a catalogue says of an object under a heading of the museum's own, kept as it is written.

    It may be anything: a report prints only what the setting `facts_in_reports` names.
    """

    record = "further_fact"
    key = ("object_id", "name")
    object_id: ObjectId
    name: Annotated[Key, Field(description="Heading it stood under")]
    text: Annotated[Text, Field(description="What stood there")]
