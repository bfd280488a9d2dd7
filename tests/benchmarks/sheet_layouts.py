"""Ordinary spreadsheets of museums, invented in 21 layouts, with what a person reads in each.

A fact is one value that a person reads in one row.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

ROWS = 18
OBJECT, CHECK, DAMAGE = "object", "condition_check", "damage"
TECHNIQUES = (("Cloisonné enamel on copper", "cloisonne", "copper"), ("Champlevé enamel on bronze", "champleve", "bronze"),
              ("Painted enamel on copper", "painted", "copper"), ("Basse-taille enamel on silver", "basse_taille", "silver"))  # fmt: skip
COLOURED = object()  # an empty cell with a fill
TITLES = ("Box", "Dish", "Plaque", "Cup", "Ring", "Casket")


@dataclass(frozen=True)
class Fact:
    """A value a person reads: in which record and column it belongs, under which object, from which heading."""

    record: str
    object_id: str
    column: str
    value: Any
    heading: str


@dataclass(frozen=True)
class Layout:
    """A sheet by its cells, what a person reads in it, and the answers a person gives where it asks."""

    name: str
    sheets: Mapping[str, Sequence[Sequence[Any]]]
    facts: Sequence[Fact]
    record: str | None = None
    mapping: str = ""
    asks: int = field(default=0)


def numbers(start: int = 1, count: int = ROWS) -> list[str]:
    """Inventory numbers, each of an object of its own."""
    return [f"S.{n}" for n in range(start, start + count)]


def made_of(n: int) -> tuple[str, str, str]:
    """Material of the nth object: as written, technique, metal."""
    return TECHNIQUES[n % len(TECHNIQUES)]


def title(n: int) -> str:
    """Title of the nth object."""
    return TITLES[n % len(TITLES)]


def of_objects(heading: str = "Material", count: int = ROWS, start: int = 1) -> list[Fact]:
    """Titles, techniques and metals of so many objects."""
    return [
        fact
        for n, number in enumerate(numbers(start, count))
        for fact in (
            Fact(OBJECT, number, "title", title(n), "Title"),
            Fact(OBJECT, number, "technique", made_of(n)[1], heading),
            Fact(OBJECT, number, "base_metal", made_of(n)[2], heading),
        )
    ]


def plain(count: int = ROWS, start: int = 1) -> list[list[Any]]:
    """Number, title and material of so many objects."""
    return [[number, title(n), made_of(n)[0]] for n, number in enumerate(numbers(start, count))]


def scale(letters: str) -> Layout:
    """A catalogue with a house scale for condition and the day it was judged."""
    head = ["Inv. no.", "Title", "Material", "Condition grade", "Checked on"]
    rows = [[*row, letters[n % 4], f"2021-03-{n + 1:02}"] for n, row in enumerate(plain())]
    facts = [f for f in of_objects() if f.record == OBJECT]
    lost = [Fact(CHECK, number, "grade", letters[n % 4], "Condition grade") for n, number in enumerate(numbers())]
    return Layout(f"house scale {letters}", {"List": [head, *rows]}, [*facts, *lost])


def layouts() -> list[Layout]:
    """The 21 layouts."""
    head = ["Inv. no.", "Title", "Material"]
    objects = of_objects()
    ditto = [head, *([row[0], row[1], row[2] if n % 3 == 0 else '"'] for n, row in enumerate(plain()))]
    dittos = [Fact(OBJECT, f"S.{n + 1}", "base_metal", made_of(n - n % 3)[2], "Material") for n in range(ROWS)]
    several = [head, *([f"S.{n}, S.{n + 50}", title(n), made_of(n)[0]] for n in range(1, 9)), *plain(10, 20)]
    merged = [["Object", None, "Made of", "Size (cm)", None], ["Inv. no.", "Title", "Material", "Height", "Width"],
              *([*row, 12 + n, 8 + n] for n, row in enumerate(plain()))]  # fmt: skip
    sized = [Fact(OBJECT, f"S.{n + 1}", c, 10.0 * (v + n), h) for n in range(ROWS)
             for c, v, h in (("height_mm", 12, "Height"), ("width_mm", 8, "Width"))]  # fmt: skip
    titled = [
        ["Enamels of the house, spring list"],
        [],
        head,
        *plain(9),
        [None, "CASE 2"],
        *plain(9, 10),
        ["Total", "18"],
    ]
    ticks = [["Inv. no.", "Date", "Surveyor", "Chips", "Cracks"],
             *([number, f"2020-05-{n + 1:02}", "R. Alder", "x" if n % 2 else None, None if n % 2 else "x"] for n, number in enumerate(numbers()))]  # fmt: skip
    ticked = [Fact(DAMAGE, number, "kind", "chip" if n % 2 else "crack", "Chips") for n, number in enumerate(numbers())]
    dates = ("1750", "c. 1750", "18th century", "1740-1760", "second half of the 19th century", "1880s")
    years = ((1750, 1750), (1745, 1755), (1701, 1800), (1740, 1760), (1851, 1900), (1880, 1889))
    dated = [Fact(OBJECT, f"S.{n + 1}", c, years[n % 6][k], "Made") for n in range(ROWS) for k, c in enumerate(("earliest_year", "latest_year"))]  # fmt: skip
    lines = [[*row, "Weeping at the rim\nold fill of wax"] for row in plain()]
    wet = [Fact(DAMAGE, number, "kind", "weeping", "Condition") for number in numbers()]
    silent = [head, *([number, title(n), "copper"] for n, number in enumerate(numbers()))]
    copper = [Fact(OBJECT, number, "base_metal", "copper", "Material") for number in numbers()]
    empty = ("n/a", "-", "?", "unknown", "", "k. A.")
    fractions = [[*row, "5 1/2 in" if n % 2 else "140 mm"] for n, row in enumerate(plain())]
    halves = [Fact(OBJECT, f"S.{n + 1}", "height_mm", 139.7 if n % 2 else 140.0, "Height") for n in range(ROWS)]
    sideways = [
        ["Inv. no.", *numbers(1, 8)],
        ["Title", *(title(n) for n in range(8))],
        ["Material", *(made_of(n)[0] for n in range(8))],
    ]
    two = [
        head,
        *plain(9),
        [],
        ["Inv. no.", "Material", "Title"],
        *([a, c, b] for a, b, c in ([x[0], title(n), made_of(n)[0]] for n, x in enumerate(plain(9, 10)))),
    ]
    survey = [["Inv. no.", "Date", "Surveyor", "Grade", "Findings"],
              *([number, f"2022-06-{n + 1:02}", "R. Alder", ("good", "poor")[n % 2], "lifting, active"] for n, number in enumerate(numbers()))]  # fmt: skip
    found = [f for n, number in enumerate(numbers()) for f in (
        Fact(CHECK, number, "grade", ("good", "poor")[n % 2], "Grade"), Fact(DAMAGE, number, "kind", "lifting", "Findings"))]  # fmt: skip
    came = [[*head, "Date"], *([*row, f"2003-04-{n + 1:02}"] for n, row in enumerate(plain()))]
    return [
        scale("1234"), scale("ABCD"),
        Layout("several numbers in a cell", {"List": several}, [*(Fact(OBJECT, f"S.{n}, S.{n + 50}", "title", title(n), "Title") for n in range(1, 9)), *of_objects(count=10, start=20)]),
        Layout("ditto marks", {"List": ditto}, dittos),
        Layout("merged headings in two rows", {"List": merged}, [*objects, *sized]),
        Layout("title, section and total lines", {"List": titled}, [*of_objects(count=9), *of_objects(count=9, start=10)]),
        Layout("one sheet a room", {"Room 4": [head, *plain(9)], "Room 7": [head, *plain(9, 10)]}, [*of_objects(count=9), *of_objects(count=9, start=10)]),
        Layout("boxes ticked", {"List": ticks}, ticked, CHECK, 'record = "condition_check"\n[columns]\n"Inv. no." = "object_id"\n"Date" = "checked_on"\n"Surveyor" = "examiner"\n[ticks]\n"Chips" = "damage:chip"\n"Cracks" = "damage:crack"\n'),
        Layout("condition in a colour", {"List": [[*head, "Grade"], *([*row, COLOURED] for row in plain())]},
               [*objects, *(Fact(CHECK, number, "grade", "poor", "Grade") for number in numbers())]),
        Layout("dates of many kinds", {"List": [[*head, "Made"], *([*row, dates[n % 6]] for n, row in enumerate(plain()))]}, [*objects, *dated]),
        Layout("several lines in a cell", {"List": [[*head, "Condition"], *lines]}, [*objects, *wet]),
        Layout("headings of the house", {"List": [["Reg.", "What", "Of"], *plain()]}, [Fact(OBJECT, f"S.{n + 1}", "title", title(n), "What") for n in range(ROWS)]),
        Layout("never says enamel", {"List": silent}, copper),
        Layout("signs for nothing", {"List": [[*head, "Height (cm)"], *([*row, empty[n % 6]] for n, row in enumerate(plain()))]}, objects),
        Layout("fractions and units in cells", {"List": [[*head, "Height"], *fractions]}, [*objects, *halves]),
        Layout("list without material", {"List": [["Inv. no.", "Title"], *([r[0], r[1]] for r in plain(9)), ["CASE 1", None], *([r[0], r[1]] for r in plain(9, 10))]}, [Fact(OBJECT, f"S.{n + 1 + 9 * k}", "title", title(n), "Title") for k in range(2) for n in range(9)]),
        Layout("fields down, objects across", {"List": sideways}, of_objects(count=8)),
        Layout("two tables in one sheet", {"List": two}, [*of_objects(count=9), *of_objects(count=9, start=10)]),
        Layout("parts under an empty number", {"List": [[*head], *(r for n, row in enumerate(plain(9)) for r in (row, [None, "lid", made_of(n)[0]]))]}, of_objects(count=9)),
        Layout("a condition survey", {"List": survey}, found, CHECK),
        Layout("a date that is the day it came in", {"List": came}, [*objects, *(Fact(OBJECT, number, "earliest_year", None, "Date") for number in numbers())]),
    ]  # fmt: skip
