"""The catalogue files: the old catalogue in many hands, a Swedish bequest list, recent acquisitions, measured areas."""

import random
from collections.abc import Iterator
from typing import Any

from demo_collection.generator.catalogue_words import dated, dimensions, remark
from demo_collection.generator.checks import simulate
from demo_collection.generator.collected import checked, items
from demo_collection.generator.items import CHECKED, REMARK, Item
from demo_collection.generator.truth import between, sorts, stream

Row = dict[str, Any]
SEEN_WITH_REMARK = 0.03
INITIALS = {
    "ledger": "A.W.",
    "cards": "K.",
    "german": "H.L.",
    "french": "M.D.",
    "dutch": "v.d.B.",
    "typed": "K./R.",
    "database": "OB",
}
STATUS = {"in_collection": "In the collection", "loan_in": "Loan in", "private": "Private owner", "missing": "Missing"}
TITLES = [
    "Catalogue of enamels, Harbour Museum of Applied Arts at Vellmouth - INVENTED FOR DEMONSTRATION",
    "typed from ledgers and cards 1988-91; added to since",
]


def old_catalogue() -> list[Row]:
    """Rows of catalogue.csv, sorted as a spreadsheet sorts them, under headings of the museum's own."""
    chance = stream("catalogue words")
    chosen = [t for t in items() if t.hand not in ("bequest", "recent")]
    return [_old(t, chance) for t in sorted(chosen, key=lambda t: (t.hand not in ("ledger", "cards"), t.number))]


def _old(item: Item, chance: random.Random) -> Row:
    said, said_on = _remark(item, chance)
    return {
        "Accession No": item.number,
        "Other numbers": item.other_numbers,
        "Object name": item.kind_word,
        "Title": _title(item, chance),
        "Place of origin": item.culture,
        "Material and technique": _material(item, chance),
        "Date": dated(item, chance),
        "Dimensions": dimensions(item) if chance.random() > 0.04 else "",
        "Number of pieces": item.items or "",
        "Location": item.away or _place_as_said(item.home, chance),
        "Condition": said,
        "Condition date": said_on,
        "Counter-enamel": item.counter_enamel.replace("_", " "),
        "Glass stability": item.unstable.replace("_", " "),
        "Provenance class": item.provenance,
        "Value points": f"{item.points:g}" if item.points else "",
        "Status": STATUS[item.status],
        "Owner id": item.owner,
        "Notes": item.description,
        "Entered by": INITIALS[item.hand],
    }


def _place_as_said(home: str, chance: random.Random) -> str:
    """A shelf by its code, by its name, or with a space too many."""
    said = [home, home, home, f"{home} ", home.lower()]
    if home.count("-") == 2:  # a shelf; boxes have a name of their own
        said.append(f"{home.rsplit('-', 1)[0]} shelf {home[-1]}")
    return chance.choice(said)


def _title(item: Item, chance: random.Random) -> str:
    """One typist liked capitals."""
    return item.title.upper() if item.hand == "typed" and chance.random() < 0.15 else item.title


def _material(item: Item, chance: random.Random) -> str:
    """More or less was said of what it is made of."""
    if item.language != "en" or item.sort == "awkward":
        return item.materials
    more = ["", "", "", ".", " ", "; later mounts", " (worn)"]
    return item.materials + chance.choice(more)


def _remark(item: Item, chance: random.Random) -> tuple[str, str]:
    """What stands under Condition: always where that is all that is known, seldom where somebody has looked."""
    wanted = item.looked == REMARK or (item.looked == CHECKED and chance.random() < SEEN_WITH_REMARK)
    if not wanted:
        return "", ""
    return remark(item, chance), chance.choice(
        ["", "", str(chance.randint(1955, 1991)), f"19{chance.randint(62, 91)}-0{chance.randint(1, 9)}"]
    )


def bequest_list() -> Iterator[Row]:
    """Rows of bequest_list.csv, semicolons and decimal commas, in Swedish."""
    chance = stream("bequest words")
    for item in (t for t in items() if t.hand == "bequest"):
        said, said_on = _remark(item, chance)
        row = {
            "Inventarienummer": item.number,
            "Sakord": item.kind_word,
            "Titel": item.title,
            "Tillverkningsort": item.culture,
            "Material och teknik": item.materials,
            "Datering": dated(item, chance),
            "Höjd (cm)": _comma(item.mm.get("height")),
            "Bredd (cm)": _comma(item.mm.get("width")),
            "Djup (cm)": _comma(item.mm.get("depth")),
            "Diameter (cm)": _comma(item.mm.get("diameter")),
            "Placering": item.away or item.home,
            "Skick": said,
            "Skick datum": said_on,
            "Status": STATUS[item.status],
            "Anmärkning": "ur kvarlåtenskapen Orrevik (påhittad)",
        }
        yield row


def _comma(mm: float | None) -> str:
    return f"{mm / 10:.1f}".replace(".", ",") if mm else ""


def recent() -> Iterator[Row]:
    """Rows of recent_acquisitions.csv: terms, millimetres, years."""
    chance = stream("recent")
    for item in (t for t in items() if t.hand == "recent"):
        terms = sorts()[item.sort]["terms"]
        sizes = {f"{axis}_mm": item.mm.get(axis, "") for axis in ("height", "width", "depth", "diameter")}
        yield {
            "object_id": item.number,
            "title": item.title,
            **terms,
            "culture": item.culture,
            "earliest_year": item.year - 10,
            "latest_year": item.year + 10,
            **sizes,
            "mass_g": round(between(chance, [15, 900])),
            "location_id": item.away or item.home,
            "status": item.status,
            "provenance_class": item.provenance,
            "counter_enamel": item.counter_enamel,
            "glass_stability": item.unstable,
            "value_points": f"{item.points:g}" if item.points else "",
            "insured_value": f"{50 * round(between(chance, [2, 80]))}.00",
            "currency": "GBP",
        }


def measured() -> Iterator[Row]:
    """Rows of measured_areas.csv: enamelled areas measured with tracing film, for pieces with old repairs or loss."""
    for item in checked():
        known = simulate().open_mends(item.number) or [
            w for w in simulate().open_wounds(item.number) if w.kind == "loss"
        ]
        if known and item.sort in sorts():
            yield {"object_id": item.number, "title": item.title, "enamel_area_mm2": round(item.area_mm2, -2)}
