"""What is stated of a date and what is not: about, a period, a style; how precise it is; years in order whatever the text."""

import polars as pl
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from collection.intake.text.dates import SCHEMA, read_dates
from tests.collection.intake.one_text import ALL
from tests.collection.intake.one_text import years_of as read


@pytest.mark.parametrize(
    "text",
    [
        "c. 1760",
        "ca.1450-1475",
        "ca. 2nd quarter 19th century",
        "vers 1530",
        "um 1530",
        "omstreeks 1750",
        "omkring 1780",
        "circa 1900",
    ],
)
def test_circa_is_noted_and_widens_nothing(text):
    assert read(text)[2]


@pytest.mark.parametrize(
    ("words", "years"),
    [
        ("c. 1954", (1949, 1959)),  # as the Carnegie Museum of Art publishes it (CC0)
        ("c. 1760-1770", (1755, 1775)),  # the same
        ("um 1750", (1745, 1755)),
        ("c. 3 BC", (-8, 3)),  # there was no year 0
        ("c. AD 3", (-3, 8)),
        ("1750", (1750, 1750)),
        ("second half of the 16th century, probably", (1551, 1600)),  # wide already
    ],
)
def test_about_makes_a_year_wider(words, years, bring_in, write_csv, store):
    bring_in(write_csv("c.csv", "object_id;technique;date_text", f"A;cloisonne;{words}"))

    assert store.read()["object"].select("earliest_year", "latest_year").row(0) == years


def test_no_circa_without_the_word():
    assert not read("18th c.")[2]
    assert not read("1650 (?)")[2]


def test_a_period_counts_only_where_the_date_text_gives_no_year():
    assert read(None, "Meiji") == (1868, 1912, False)
    assert read("n.d.", "Edo; Meiji")[:2] == (1615, 1912)
    assert read("1880", "Meiji")[:2] == (1880, 1880)
    assert read(None, "Qing dynasty, Qianlong")[:2] == (1736, 1795)


@pytest.mark.parametrize(
    "text", ["Louis XV", "Louis XV style", "Renaissance", "Victorian", "Art Deco", "Qianlong mark", "Ming style"]
)
def test_style_and_dealers_words_are_no_dates(text):
    assert read(text, text)[:2] == (None, None)


def test_precision_says_what_was_stated():
    texts = [
        "1765",
        "1760-65",
        "18th century",
        "late 18th century",
        "1870s",
        "after 1632",
        "Watch: 1560; Case: 1625",
        "Meiji period",
        "n.d.",
    ]
    assert read_dates(pl.DataFrame({"date_text": texts}), ALL)["date_precision"].to_list() == [
        "year",
        "range",
        "century",
        "part_of_century",
        "decade",
        "open_ended",
        "parts",
        "period",
        "undated",
    ]


def test_rows_keep_their_order_and_schema():
    rows = read_dates(pl.DataFrame({"date_text": ["1900", None, "1800", "1900"]}), ALL)
    assert rows["earliest_year"].to_list() == [1900, None, 1800, 1900]
    assert dict(rows.schema) == dict(SCHEMA)


PIECES = st.lists(
    st.sampled_from(
        [
            "1760",
            "ca.",
            "-",
            "/",
            "early",
            "18th",
            "century",
            "BC",
            "AD",
            "after",
            "before",
            "XVIe",
            "siècle",
            "Ende",
            "16.",
            "Jh.",
            "1600",
            "-tal",
            "(?)",
            "and",
            "75",
            "0",
            "99999",
            "Meiji",
            "period",
            "AH",
            "or",
            "later",
            ";",
            "of",
            "the",
            "quarter",
            "second",
            "s",
        ]
    )
)


@example("1BC/0")  # there was no year 0
@settings(deadline=None, max_examples=300)
@given(st.one_of(st.text(max_size=40), PIECES.map(" ".join), PIECES.map("".join)))
def test_no_text_makes_the_reader_fail_and_years_are_in_order(text):
    earliest, latest, _ = read(text, text)
    assert earliest is None or latest is None or earliest <= latest
    assert earliest != 0
    assert latest != 0


@settings(deadline=None, max_examples=50)
@given(st.integers(100, 2100), st.integers(0, 200))
def test_a_range_is_read_as_written(first, more):
    last = min(first + more, 2100)
    assert read(f"{first}-{last}")[:2] == (first, last)


@settings(deadline=None, max_examples=21)
@given(st.integers(1, 21))
def test_centuries_run_from_one_to_a_hundred(number):
    assert read(f"{number}th century")[:2] == (100 * number - 99, 100 * number)
    assert read(f"{number}th century BC")[:2] == (-100 * number, -100 * number + 99)
    assert read(f"{number}. Jh. v. Chr.")[:2] == (-100 * number, -100 * number + 99)
