"""How ninety years of cataloguers wrote the same facts down: inches and centimetres, dates in many forms, languages."""

import random

from demo_collection.generator.items import Item

EIGHTHS = {0: "", 1: " 1/8", 2: " 1/4", 3: " 3/8", 4: " 1/2", 5: " 5/8", 6: " 3/4", 7: " 7/8"}
LETTERS = {"height": "H", "width": "W", "depth": "D", "diameter": "Diam"}
FOREIGN = {
    "fr": {"height": "H.", "width": "l.", "depth": "P.", "diameter": "Diam."},
    "de": {"height": "H.", "width": "B.", "depth": "T.", "diameter": "Dm."},
    "nl": {"height": "h", "width": "b", "depth": "d", "diameter": "diam."},
    "sv": {"height": "H.", "width": "B.", "depth": "Dj.", "diameter": "Diam."},
}
REMARKS = {
    "en": [
        "Chipped at the rim",
        "Cracked, old wax fill",
        "Flaking 1986",
        "Enamel lifting lower left, seen 1978-05",
        "Good",
        "Restored with plaster",
        "Corroded below the glass",
        "Two losses, one filled",
        "Slightly scratched",
        "No visible damage 1969",
        "damp film on the flesh tones, 12 May 1983",
        "Badly rusted at screw holes",
    ],
    "fr": ["Ébréché au bord", "Fêlures, manques", "Restauré à la cire en 1965", "Bon état"],
    "de": ["Emailverlust am Rand", "Haarrisse, 1958", "Rand bestoßen", "gut erhalten"],
    "nl": ["Barst in het email", "Afgeschilferd, 1971", "goede staat"],
    "sv": ["Sprickor, kantskador", "Emaljbortfall vid kanten", "gott skick"],
}


def dimensions(item: Item) -> str:
    """Sizes in the manner of the hand."""
    if item.hand == "ledger":
        return " x ".join(_inches(mm) for mm in item.mm.values()) + (" in." if len(item.mm) > 1 else " in. diam.")
    if item.hand in ("cards", "typed"):
        return ", ".join(f"{LETTERS[axis]}. {mm / 10:.1f} cm" for axis, mm in item.mm.items())
    if item.language in FOREIGN:
        words = FOREIGN[item.language]
        return "; ".join(f"{words[axis]} " + f"{mm / 10:.1f} cm".replace(".", ",") for axis, mm in item.mm.items())
    if "diameter" in item.mm:
        return "; ".join(f"{axis} {mm:.0f} mm" for axis, mm in item.mm.items())
    return " x ".join(f"{mm:.0f}" for mm in item.mm.values()) + " mm"


def _inches(mm: float) -> str:
    eighths = max(1, round(mm / 25.4 * 8))
    whole, rest = divmod(eighths, 8)
    return f"{whole or ''}{EIGHTHS[rest]}".strip()


def dated(item: Item, chance: random.Random) -> str:
    """A date in one of the forms of the hand."""
    if item.period:
        return item.period
    return chance.choice(_FORMS[item.language])(item.year)


def _century(year: int) -> int:
    return (year - 1) // 100 + 1


def _roman(number: int) -> str:
    return (
        "X" * (number // 10)
        + {0: "", 1: "I", 2: "II", 3: "III", 4: "IV", 5: "V", 6: "VI", 7: "VII", 8: "VIII", 9: "IX"}[number % 10]
    )


def _half(year: int) -> int:
    return 1 if (year - 1) % 100 < 50 else 2


def _ordinal(number: int) -> str:
    return {1: "1st", 2: "2nd"}[number]


_FORMS = {
    "en": [
        lambda y: f"c. {round(y, -1)}",
        lambda y: f"ca {y - y % 10}-{y - y % 10 + 20}",
        lambda y: f"{y - y % 10}s",
        lambda y: f"{'early' if _half(y) == 1 else 'late'} {_century(y)}th century",
        lambda y: f"{_century(y)}th cent.",
        lambda y: f"{_ordinal(_half(y))} half of {_century(y)}th c.",
        lambda y: f"about {y}",
        lambda y: f"{y}?",
    ],
    "fr": [
        lambda y: f"vers {y}",
        lambda y: f"{_roman(_century(y))}e siècle",
        lambda y: f"{_half(y)}{'re' if _half(y) == 1 else 'e'} moitié du {_roman(_century(y))}e siècle",
    ],
    "de": [
        lambda y: f"um {y}",
        lambda y: f"{_half(y)}. Hälfte {_century(y)}. Jh.",
        lambda y: f"{_century(y)}. Jahrhundert",
    ],
    "nl": [lambda y: f"ca. {y}", lambda y: f"{_century(y)}e eeuw", lambda y: f"{_half(y)}e helft {_century(y)}e eeuw"],
    "sv": [
        lambda y: f"omkring {y}",
        lambda y: f"{_century(y) - 1}00-talet",
        lambda y: f"ca {y - y % 10}-{y - y % 10 + 10}",
    ],
}


def remark(item: Item, chance: random.Random) -> str:
    """A remark on condition, in the language of the hand."""
    return chance.choice(REMARKS[item.language])
