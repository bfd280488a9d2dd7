"""The catalogue files as many hands wrote them: sizes, dates and remarks in the manner and language of each."""

import random
from collections.abc import Iterator

from demo_collection.generator.chance import between, stream
from demo_collection.generator.objects import AXES, CHECKED, HANDS, REMARK, Item, checked, items
from demo_collection.generator.simulation import simulate
from demo_collection.generator.tables import Row, grouped, keyed, row, sorts

SEEN_WITH_REMARK = 0.03
WEIGHED, MAKER_KNOWN = 0.8, 0.3
STATUS = {"in_collection": "In the collection", "loan_in": "Loan in", "private": "Private owner", "missing": "Missing"}
AXIS_WORDS = keyed("dimension_words", "language")
MAKERS = grouped("makers", "sort")
DATE_FORMS, REMARKS = grouped("date_forms", "language"), grouped("remarks", "language")
EIGHTHS = ("", " 1/8", " 1/4", " 3/8", " 1/2", " 5/8", " 3/4", " 7/8")
ROMAN = ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")


def old_catalogue() -> list[Row]:
    """Rows of catalogue.csv, sorted as a spreadsheet sorts them, under headings of the museum's own."""
    chance = stream("catalogue words")
    chosen = [t for t in items() if t.hand not in ("bequest", "recent")]
    return [_entry(t, chance) for t in sorted(chosen, key=lambda t: (t.hand not in ("ledger", "cards"), t.number))]


def _entry(item: Item, chance: random.Random) -> Row:
    remark, remark_on = _remark(item, chance)
    values = {"Title": _title(item, chance), "Material and technique": _material(item, chance)}
    values |= {"Date": _dated(item, chance), "Dimensions": _dimensions(item) if chance.random() > 0.04 else ""}
    values |= {"Location": item.away or _location(item.home, chance), "Condition": remark, "Condition date": remark_on}
    values |= {"Counter-enamel": _spoken(item.counter_enamel), "Glass stability": _spoken(item.unstable)}
    values |= {"Value points": _points(item), "Status": STATUS[item.status], "Entered by": HANDS[item.hand]["initials"]}
    return row("catalogue", values, item)


def _location(home: str, chance: random.Random) -> str:
    """A shelf by its code, by its name, or with a space too many."""
    forms = [home, home, home, f"{home} ", home.lower()]
    if home.count("-") == 2:  # a shelf; boxes have a name of their own
        forms.append(f"{home.rsplit('-', 1)[0]} shelf {home[-1]}")
    return chance.choice(forms)


def _points(item: Item) -> str:
    return f"{item.points:g}" if item.points else ""


def _spoken(term: str) -> str:
    return term.replace("_", " ")


def _title(item: Item, chance: random.Random) -> str:
    """One typist liked capitals."""
    return item.title.upper() if item.hand == "typed" and chance.random() < 0.15 else item.title


def _material(item: Item, chance: random.Random) -> str:
    """What it is made of, with more or less added."""
    if item.language != "en" or item.sort == "awkward":
        return item.materials
    return item.materials + chance.choice(["", "", "", ".", " ", "; later mounts", " (worn)"])


def _remark(item: Item, chance: random.Random) -> tuple[str, str]:
    """What stands under Condition: always where that is all that is known, seldom where somebody has looked."""
    wanted = item.looked == REMARK or (item.looked == CHECKED and chance.random() < SEEN_WITH_REMARK)
    if not wanted:
        return "", ""
    remark = chance.choice(REMARKS[item.language])["remark"]
    year, month = str(chance.randint(1955, 1991)), f"19{chance.randint(62, 91)}-0{chance.randint(1, 9)}"
    return remark, chance.choice(["", "", year, month])


def _dimensions(item: Item) -> str:
    """Sizes in the manner of the hand."""
    axes, axis_words = item.mm.items(), AXIS_WORDS[item.language]
    if item.hand == "ledger":
        return " x ".join(_inches(mm) for mm in item.mm.values()) + (" in." if len(axes) > 1 else " in. diam.")
    if item.hand in ("cards", "typed"):
        return ", ".join(f"{axis_words[axis]}. {mm / 10:.1f} cm" for axis, mm in axes)
    if item.language != "en":
        return "; ".join(f"{axis_words[axis]} {_comma(mm)} cm" for axis, mm in axes)
    if "diameter" in item.mm:
        return "; ".join(f"{axis} {mm:.0f} mm" for axis, mm in axes)
    return " x ".join(f"{mm:.0f}" for mm in item.mm.values()) + " mm"


def _inches(mm: float) -> str:
    whole, eighths = divmod(max(1, round(mm / 25.4 * 8)), 8)
    return f"{whole or ''}{EIGHTHS[eighths]}".strip()


def _comma(mm: float | None) -> str:
    """Centimetres with a decimal comma."""
    return f"{mm / 10:.1f}".replace(".", ",") if mm else ""


def _dated(item: Item, chance: random.Random) -> str:
    """A date in one of the forms of the language."""
    return item.period or chance.choice(DATE_FORMS[item.language])["form"].format(**_date_words(item.year))


def _date_words(year: int) -> Row:
    """What a form of dates can name."""
    hundreds, decade = (year - 1) // 100, year - year % 10
    half = 1 if (year - 1) % 100 < 50 else 2
    named = {"year": year, "nearest_ten": round(year, -1), "hundreds": hundreds, "century": hundreds + 1, "half": half}
    named |= {"decade": decade, "next_decade": decade + 10, "decade_after_next": decade + 20}
    named |= {"early_late": ("early", "late")[half - 1], "first_second": ("1st", "2nd")[half - 1]}
    named |= {"roman": "X" * ((hundreds + 1) // 10) + ROMAN[(hundreds + 1) % 10]}
    return named | {"premiere_deuxieme": ("1re", "2e")[half - 1]}


def masses() -> Iterator[Row]:
    """Rows of masses.csv: most of what was looked at was put on the scales in 2024."""
    chance = stream("masses")
    yield from (row("mass", None, item) for item in checked() if chance.random() < WEIGHED)


def origins() -> Iterator[Row]:
    """Rows of origins.csv: makers and marks of some, and dates as the catalogue has them."""
    chance, dates = stream("makers"), {entry["Accession No"]: entry["Date"] for entry in old_catalogue()}
    for item in items():
        makers, known = MAKERS.get(item.sort, []), chance.random() < MAKER_KNOWN
        its = chance.choice(makers) if makers and known else {"maker": "", "marks": ""}
        if its["maker"] or dates.get(item.number):
            dated = {"period_text": dates.get(item.number, "")}
            yield row("origin", {"maker": its["maker"], "marks": its["marks"]} | dated, item)


def bequest_list() -> Iterator[Row]:
    """Rows of bequest_list.csv, with decimal commas, in Swedish."""
    chance = stream("bequest words")
    for item in (t for t in items() if t.hand == "bequest"):
        remark, remark_on = _remark(item, chance)
        names = ("Höjd (cm)", "Bredd (cm)", "Djup (cm)", "Diameter (cm)")
        values = {name: _comma(item.mm.get(axis)) for name, axis in zip(names, AXES, strict=True)}
        values |= {"Datering": _dated(item, chance), "Placering": item.away or item.home, "Status": STATUS[item.status]}
        yield row("bequest_list", values | {"Skick": remark, "Skick datum": remark_on}, item)


def recent_acquisitions() -> Iterator[Row]:
    """Rows of recent_acquisitions.csv: terms, millimetres, years."""
    chance = stream("recent")
    for item in (t for t in items() if t.hand == "recent"):
        values = {**sorts()[item.sort]["terms"], "value_points": _points(item), "location_id": item.away or item.home}
        values |= {"earliest_year": item.year - 10, "latest_year": item.year + 10}
        values |= {f"{axis}_mm": item.mm.get(axis, "") for axis in AXES} | {"mass_g": round(between(chance, [15, 900]))}
        yield row("recent_acquisition", values, item, insured_value=f"{50 * round(between(chance, [2, 80]))}.00")


def measured_areas() -> Iterator[Row]:
    """Rows of measured_areas.csv: enamelled areas measured with tracing film, for pieces with old repairs or loss."""
    for item in checked():
        lost = [d for d in simulate().open_damage(item.number) if d.kind == "loss"]
        if (simulate().open_repairs(item.number) or lost) and item.sort in sorts():
            yield row(
                "measured_area", object_id=item.number, title=item.title, enamel_area_mm2=round(item.area_mm2, -2)
            )
