"""Photographs by content hash, and outlines on them."""

from typing import Annotated

from pydantic import Field

from schemas.fields import Digest, ForeignKey, FromVocabulary, Key, Name, Number, PartialDate, Record, Text
from schemas.records.catalogue import ObjectId, PersonName


class Photo(Record):
    """A photograph of an object, by the SHA-256 of its bytes."""

    record = "photo"
    key = ("photo_id", "object_id")
    known_from = ("taken_on",)
    photo_id: Annotated[Digest, Field(description="SHA-256 of the file")]
    object_id: ObjectId
    check_id: Annotated[Key | None, ForeignKey("condition_check"), Field(description="Check it was taken at")] = None
    view: Annotated[Name | None, Field(description="View")] = None
    taken_on: Annotated[PartialDate | None, Field(description="When it was taken")] = None
    taken_by: Annotated[PersonName | None, Field(description="Who took it")] = None
    mm_per_pixel: Annotated[Number | None, Field(gt=0, le=1e4, description="Scale [mm per pixel]")] = None
    curvature: Annotated[str | None, FromVocabulary("curvature"), Field(description="Flat, domed or round")] = None


class Region(Record):
    """An outline on a photograph, in pixels of the original."""

    record = "region"
    key = ("region_id",)
    region_id: Annotated[Key, Field(description="Number of the outline")]
    photo_id: Annotated[Digest, ForeignKey("photo"), Field(description="Photograph")]
    damage_id: Annotated[Key | None, ForeignKey("damage"), Field(description="Damage outlined")] = None
    repair_id: Annotated[Key | None, ForeignKey("repair"), Field(description="Repair outlined")] = None
    outline: Annotated[Text, Field(description="Points x,y in pixels, separated by spaces")]
