"""Finding objects by what a person remembers; a mistyped question says that nothing was found."""

import pytest

from collection.as_of import as_known
from collection.questions.search import by_any_spelling, matching, searched
from tests.collection.risk.builders import AS_OF, register

OBJECTS = [
    {"object_id": "VH 54/3", "title": "Châsse", "maker": "Reymond", "culture": "French, Limoges", "technique": ["champleve"],
     "earliest_year": 1540, "latest_year": 1560, "location_id": "S1", "other_numbers": "1938.204b; old 7"},
    {"object_id": "1968.1", "title": "Plaque", "base_metal": "copper", "earliest_year": 1901, "latest_year": 1930},
]  # fmt: skip
FACTS = [{"object_id": "1968.1", "name": "Fund", "text": "Miller Bequest"}]
PLACES = [
    {"location_id": "E2-1", "name": "East Store, cabinet 1"},
    {"location_id": "S1", "within": "E2-1", "name": "Shelf 3"},
]


@pytest.fixture
def collection():
    return as_known(register(object=OBJECTS, location=PLACES, further_fact=FACTS), AS_OF)


class Asked:
    """What the search reads of a triage."""

    def __init__(self, collection):
        self.collection = collection


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("vh 54/3", ["VH 54/3"]),
        ("vh54.3", ["VH 54/3"]),
        ("VH-54-3", ["VH 54/3"]),
        ("1968", ["1968.1"]),
        ("1938.204b", ["VH 54/3"]),
        ("chasse", ["VH 54/3"]),
        ("reymond limoges", ["VH 54/3"]),
        ("reymond plaque", []),
        ("champlevé", ["VH 54/3"]),
        ("1550", ["VH 54/3"]),
        ("1910", ["1968.1"]),
        ("1700", []),
        ("E2-1", ["VH 54/3"]),
        ("east store", ["VH 54/3"]),
        ("copper", ["1968.1"]),
        ("miller bequest", ["1968.1"]),
        ("", ["VH 54/3", "1968.1"]),
        (".*[", []),
    ],
)
def test_every_word_stands_in_a_number_a_text_a_term_a_year_or_a_place(collection, words, expected):
    assert sorted(matching(Asked(collection), (words,)).to_list()) == sorted(expected)


@pytest.mark.parametrize(
    ("number", "expected"),
    [
        ("1968.1", "1968.1"),
        ("vh 54 3", "VH 54/3"),
        ("1938.204B", "VH 54/3"),
        ("OLD 7", "VH 54/3"),
        ("1968", None),
        ("", None),
    ],
)
def test_an_object_is_known_by_its_number_in_any_spelling_or_a_former_one(collection, number, expected):
    assert by_any_spelling(collection, number) == expected


def test_each_object_is_searched_once(collection):
    assert searched(collection).height == 2
