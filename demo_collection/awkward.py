"""The awkward objects that every museum has: fifteen of them, each for its own reason."""

from demo_collection.museum import TODAY
from demo_collection.things import Thing

_COPPER = "Painted enamel on copper"


def _thing(
    number: str, group: str, title: str, materials: str, home: str, mm: dict[str, float], **more: object
) -> Thing:
    given: dict[str, object] = {
        "sort": "awkward",
        "hand": "database",
        "language": "en",
        "kind_word": title.split(",")[0],
        "culture": "",
        "year": 1880,
        "shape": "flat",
        "points": 10.0,
    }
    return Thing(number=number, group=group, title=title, materials=materials, home=home, mm=mm, **{**given, **more})  # type: ignore[arg-type]


def awkward() -> list[Thing]:
    """The separated pair, the suite in three numbers, and the rest."""
    return [*_belonging_together(), *_in_pieces(), *_dangerous(), *_of_others()]


def _belonging_together() -> list[Thing]:
    wire = "Cloisonné enamel on copper, gilt wires"
    vase = {"height": 242.0, "diameter": 121.0}
    gold = "Gold, guilloché enamel"
    jewel = {"height": 40.0, "width": 30.0}
    return [
        _thing(
            "1938.204",
            "cloisonne",
            "Vase, one of a pair, cranes",
            wire,
            "L1-2-1",
            vase,
            shape="tall",
            culture="Japanese",
        ),
        _thing(
            "1951.222",
            "cloisonne",
            "Vase, pair to 1938.204",
            wire,
            "E2-1-3",
            vase,
            shape="tall",
            culture="Japanese",
            other_numbers="once 1938.204b",
        ),
        _thing(
            "1964.131",
            "jewel",
            "Necklace of a suite",
            gold,
            "E2-3-1",
            {"height": 20.0, "width": 410.0},
            culture="Swiss",
            year=1895,
        ),
        _thing("1964.132", "jewel", "Brooch of a suite", gold, "E2-3-1", jewel, culture="Swiss", year=1895),
        _thing(
            "1971.105",
            "jewel",
            "Earring of the suite 1964.131-2",
            gold,
            "E2-5-2",
            jewel,
            culture="Swiss",
            year=1895,
            items=2,
        ),
    ]


def _in_pieces() -> list[Thing]:
    return [
        _thing(
            "1933.160.1-11",
            "champleve",
            "Plaque fragments, a bag of eleven",
            "Champlevé enamel on copper",
            "E1-1-1-B1",
            {"height": 30.0, "width": 22.0},
            items=11,
            culture="Mosan",
            year=1190,
            provenance="church",
            description="One bag, one number; nobody knows from what.",
        ),
        _thing(
            "1959.114",
            "painted",
            "Box with its lid kept apart",
            _COPPER,
            "E2-2-2",
            {"height": 32.0, "width": 61.0, "depth": 44.0},
            shape="box",
            year=1770,
            culture="English",
            parts=[("box", "enamel", 0.6, "", ""), ("lid", "enamel", 0.4, "", "E1-1-1-B1")],
        ),
        _thing(
            "1947.109",
            "champleve",
            "Brooch, Roman, most of its enamel gone",
            "Copper alloy, champlevé enamel",
            "L1-3-2",
            {"height": 31.0, "width": 24.0},
            year=150,
            culture="Romano-British",
            provenance="burial",
            period="2nd century AD",
            description="Excavated before 1900; the cells have been almost empty for as long as anybody remembers.",
        ),
    ]


def _dangerous() -> list[Thing]:
    return [
        _thing(
            "1986.141",
            "dial",
            "Dial of an aircraft clock, luminous",
            "Painted enamel on copper, radium paint",
            "L1-4-4",
            {"diameter": 58.0},
            shape="flat_round",
            year=1935,
            points=3.0,
        ),
        _thing(
            "1979.177",
            "badge",
            "Badge with yellow-green ground",
            "Champlevé enamel on brass, uranium yellow",
            "E2-4-3",
            {"height": 34.0, "width": 30.0},
            year=1912,
            points=1.0,
        ),
        _thing(
            "1991.108",
            "steel_sign",
            "Sign, fuse board of the tram depot",
            "Vitreous enamel on sheet steel, on asbestos board",
            "L2-6-1",
            {"height": 610.0, "width": 460.0},
            year=1924,
            points=3.0,
            provenance="industrial",
        ),
        _thing(
            "1955.103",
            "cloisonne",
            "Vase, totai shippo",
            "Cloisonné enamel on porcelain (tōtai shippō)",
            "L1-1-2",
            {"height": 184.0, "diameter": 96.0},
            shape="tall",
            culture="Japanese",
            year=1876,
        ),
    ]


def _of_others() -> list[Thing]:
    cup = {"height": 212.0, "diameter": 118.0}
    return [
        _thing(
            "DEP 3",
            "champleve",
            "Chalice, in use at feasts",
            "Silver, gilt, champlevé enamel",
            "L1-1-1",
            cup,
            shape="tall",
            year=1865,
            provenance="church",
            status="private",
            owner="OWN-2",
            points=30.0,
        ),
        _thing(
            "L2026.1",
            "unstable_painted",
            "Plaque, The Entombment",
            _COPPER,
            "GA-1-2",
            {"height": 196.0, "width": 148.0},
            culture="French, Limoges",
            year=1515,
            status="loan_in",
            owner="OWN-3",
            unstable="suspected",
            thin_copper=True,
            points=100.0,
            description=f"Incoming loan; with us on {TODAY}.",
        ),
        _thing(
            "P 1",
            "jewel",
            "Pendant, looked after for its owner",
            "Gold, enamel (minakari)",
            "E2-3-4",
            {"height": 52.0, "width": 38.0},
            status="private",
            owner="OWN-1",
            culture="Indian, Mughal style",
            year=1820,
        ),
    ]
