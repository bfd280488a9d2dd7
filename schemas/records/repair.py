"""Old repairs and documented modern fills, and what each check saw of them."""

from typing import Annotated

from pydantic import Field

from schemas.fields import (
    Day,
    ForeignKey,
    FromVocabulary,
    Key,
    Millimetres,
    Name,
    PartialDate,
    Record,
    Share,
    SquareMillimetres,
    Text,
)
from schemas.records.catalogue import ObjectId, PersonName
from schemas.records.condition import CheckId


class Repair(Record):
    """One old repair or documented modern fill, with an identity."""

    record = "repair"
    key = ("repair_id",)
    known_from = ("done_on",)
    ended_by = {"closed_on": ("removed_by",)}
    repair_id: Annotated[Key, Field(description="Number of the repair")]
    object_id: ObjectId
    part: Annotated[Key, Field(description="Part it is on")]
    side: Annotated[str | None, FromVocabulary("side"), Field(description="Side it is on")] = None
    function: Annotated[
        str, FromVocabulary("repair_function"), Field(description="What it does: holds, fills, covers, tints")
    ]
    material: Annotated[str, FromVocabulary("repair_material"), Field(description="Material, or unknown")]
    certainty: Annotated[
        str | None, FromVocabulary("repair_certainty"), Field(description="How the material is known")
    ] = None
    done_on: Annotated[PartialDate | None, Field(description="When it was done")] = None
    done_by: Annotated[PersonName | None, Field(description="Who did it")] = None
    covers_original: Annotated[bool | None, Field(description="Lies over original surface")] = None
    covers_original_reason: Annotated[Text | None, Field(description="Reason it does")] = None
    soluble_in: Annotated[Text | None, Field(description="What it was found to dissolve in; empty is not tested")] = (
        None
    )
    soluble_in_basis: Annotated[
        str | None, FromVocabulary("solubility_basis"), Field(description="Tested or documented")
    ] = None
    level: Annotated[str | None, FromVocabulary("fill_level"), Field(description="Flush, proud or low")] = None
    colour_match: Annotated[
        str | None, FromVocabulary("colour_match"), Field(description="How far it passes for original")
    ] = None
    visibility: Annotated[str | None, FromVocabulary("visibility"), Field(description="How plainly it shows")] = None
    position: Annotated[Text | None, Field(description="Where on the part")] = None
    documented: Annotated[Text | None, Field(description="Where it is documented")] = None
    treatment_id: Annotated[Key | None, ForeignKey("treatment"), Field(description="Treatment that made it")] = None
    area_mm2: Annotated[SquareMillimetres | None, Field(description="Area of the repair")] = None
    recognised_by: Annotated[
        list[Annotated[str, FromVocabulary("recognised_by")]] | None,
        Field(description="How it can be seen that it is not original"),
    ] = None
    fluorescence: Annotated[Name | None, Field(description="Colour under ultraviolet")] = None
    thickness_mm: Annotated[Millimetres | None, Field(description="Thickness")] = None
    lost_beneath: Annotated[Share | None, Field(description="Share of its area where the original beneath is gone")] = (
        None
    )
    retreatable: Annotated[
        str | None, FromVocabulary("retreatability"), Field(description="Whether it can be taken off or done again")
    ] = None
    closed_on: Annotated[Day | None, Field(description="Day it was removed")] = None
    removed_by: Annotated[Name | None, Field(description="Treatment that removed it")] = None


class RepairState(Record):
    """What one check saw of one repair."""

    record = "repair_state"
    key = ("check_id", "repair_id")
    check_id: CheckId
    repair_id: Annotated[Key, ForeignKey("repair")]
    stability: Annotated[str, FromVocabulary("stability"), Field(description="How it is holding")]
    signs: Annotated[list[Annotated[str, FromVocabulary("repair_sign")]] | None, Field(description="What shows it")] = (
        None
    )
    area_mm2: Annotated[SquareMillimetres | None, Field(description="Area of the repair, as measured then")] = None
    extent_band: Annotated[str | None, FromVocabulary("extent_band"), Field(description="Share of the part")] = None
    harmed_mm2: Annotated[
        SquareMillimetres | None, Field(description="Area where harm shows: salts, damp, pulling, corrosion")
    ] = None
    harmed_band: Annotated[
        str | None, FromVocabulary("extent_band"), Field(description="Share of the part where harm shows")
    ] = None
    harms: Annotated[Key | None, ForeignKey("damage"), Field(description="Damage it causes")] = None
    note: Annotated[Text | None, Field(description="Note")] = None
