"""The catalogue files: the old catalogue in many hands, a Swedish bequest list, recent acquisitions, measured areas."""

import random
from collections.abc import Iterator
from typing import Any

from demo_collection.generator.catalogue_words import dated, dimensions, remark
from demo_collection.generator.checks import simulate
from demo_collection.generator.collected import checked, things
from demo_collection.generator.things import CHECKED, REMARK, Thing
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
    chosen = [t for t in things() if t.hand not in ("bequest", "recent")]
    return [_old(t, chance) for t in sorted(chosen, key=lambda t: (t.hand not in ("ledger", "cards"), t.number))]


def _old(thing: Thing, chance: random.Random) -> Row:
    said, said_on = _remark(thing, chance)
    return {
        "Accession No": thing.number,
        "Other numbers": thing.other_numbers,
        "Object name": thing.kind_word,
        "Title": _title(thing, chance),
        "Place of origin": thing.culture,
        "Material and technique": _material(thing, chance),
        "Date": dated(thing, chance),
        "Dimensions": dimensions(thing) if chance.random() > 0.04 else "",
        "Number of pieces": thing.items or "",
        "Location": thing.away or _place_as_said(thing.home, chance),
        "Condition": said,
        "Condition date": said_on,
        "Counter-enamel": thing.counter_enamel.replace("_", " "),
        "Glass stability": thing.unstable.replace("_", " "),
        "Provenance class": thing.provenance,
        "Value points": f"{thing.points:g}" if thing.points else "",
        "Status": STATUS[thing.status],
        "Owner id": thing.owner,
        "Notes": thing.description,
        "Entered by": INITIALS[thing.hand],
    }


def _place_as_said(home: str, chance: random.Random) -> str:
    """A shelf by its code, by its name, or with a space too many."""
    said = [home, home, home, f"{home} ", home.lower()]
    if home.count("-") == 2:  # a shelf; boxes have a name of their own
        said.append(f"{home.rsplit('-', 1)[0]} shelf {home[-1]}")
    return chance.choice(said)


def _title(thing: Thing, chance: random.Random) -> str:
    """One typist liked capitals."""
    return thing.title.upper() if thing.hand == "typed" and chance.random() < 0.15 else thing.title


def _material(thing: Thing, chance: random.Random) -> str:
    """More or less was said of what it is made of."""
    if thing.language != "en" or thing.sort == "awkward":
        return thing.materials
    more = ["", "", "", ".", " ", "; later mounts", " (worn)"]
    return thing.materials + chance.choice(more)


def _remark(thing: Thing, chance: random.Random) -> tuple[str, str]:
    """What stands under Condition: always where that is all that is known, seldom where somebody has looked."""
    wanted = thing.looked == REMARK or (thing.looked == CHECKED and chance.random() < SEEN_WITH_REMARK)
    if not wanted:
        return "", ""
    return remark(thing, chance), chance.choice(
        ["", "", str(chance.randint(1955, 1991)), f"19{chance.randint(62, 91)}-0{chance.randint(1, 9)}"]
    )


def bequest_list() -> Iterator[Row]:
    """Rows of bequest_list.csv, semicolons and decimal commas, in Swedish."""
    chance = stream("bequest words")
    for thing in (t for t in things() if t.hand == "bequest"):
        said, said_on = _remark(thing, chance)
        row = {
            "Inventarienummer": thing.number,
            "Sakord": thing.kind_word,
            "Titel": thing.title,
            "Tillverkningsort": thing.culture,
            "Material och teknik": thing.materials,
            "Datering": dated(thing, chance),
            "Höjd (cm)": _comma(thing.mm.get("height")),
            "Bredd (cm)": _comma(thing.mm.get("width")),
            "Djup (cm)": _comma(thing.mm.get("depth")),
            "Diameter (cm)": _comma(thing.mm.get("diameter")),
            "Placering": thing.away or thing.home,
            "Skick": said,
            "Skick datum": said_on,
            "Status": STATUS[thing.status],
            "Anmärkning": "ur kvarlåtenskapen Orrevik (påhittad)",
        }
        yield row


def _comma(mm: float | None) -> str:
    return f"{mm / 10:.1f}".replace(".", ",") if mm else ""


def recent() -> Iterator[Row]:
    """Rows of recent_acquisitions.csv: terms, millimetres, years."""
    chance = stream("recent")
    for thing in (t for t in things() if t.hand == "recent"):
        terms = sorts()[thing.sort]["terms"]
        sizes = {f"{axis}_mm": thing.mm.get(axis, "") for axis in ("height", "width", "depth", "diameter")}
        yield {
            "object_id": thing.number,
            "title": thing.title,
            **terms,
            "culture": thing.culture,
            "earliest_year": thing.year - 10,
            "latest_year": thing.year + 10,
            **sizes,
            "mass_g": round(between(chance, [15, 900])),
            "location_id": thing.away or thing.home,
            "status": thing.status,
            "provenance_class": thing.provenance,
            "counter_enamel": thing.counter_enamel,
            "glass_stability": thing.unstable,
            "value_points": f"{thing.points:g}" if thing.points else "",
            "insured_value": f"{50 * round(between(chance, [2, 80]))}.00",
            "currency": "GBP",
        }


def measured() -> Iterator[Row]:
    """Rows of measured_areas.csv: enamelled areas measured with tracing film, for pieces with old repairs or loss."""
    for thing in checked():
        known = simulate().open_mends(thing.number) or [
            w for w in simulate().open_wounds(thing.number) if w.kind == "loss"
        ]
        if known and thing.sort in sorts():
            yield {"object_id": thing.number, "title": thing.title, "enamel_area_mm2": round(thing.area_mm2, -2)}
