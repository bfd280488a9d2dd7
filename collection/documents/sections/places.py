"""Where something is on an object, and how large, as every table of a document says it."""

from collection.documents.cells import TOGETHER, Row, joined, part, quantity, rough, term
from collection.documents.words import say
from schemas.records.catalogue import WHOLE


def where(row: Row) -> str:
    """Part, side and position."""
    table = "damage" if "damage_id" in row else "repair"
    place = joined(term(table, "side", row["side"]).lower(), row["position"])
    return place if place and row["part"] == WHOLE else joined(part(row["part"]), place)


def extent(row: Row, record: str) -> str:
    """Area, length and band as seen, with the error where one is known."""
    error = rough(row.get("measurement_error"))
    measured = joined(
        quantity(record, "area_mm2", row["area_mm2"]),
        quantity(record, "length_mm", row["length_mm"]) if "length_mm" in row else "",
    )
    return joined(
        f"{measured}{TOGETHER}{say('error', error=error)}" if measured and error else measured,
        term(record, "extent_band", row["extent_band"]),
    )
