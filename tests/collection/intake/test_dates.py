"""Dates of making as museums of five countries write them. Lines marked W and C as in test_prose.py."""

import polars as pl
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from collection.intake.languages import load
from collection.intake.text.dates import SCHEMA, read_dates

ALL = load()


def read(text, period=None):
    row = read_dates(
        pl.DataFrame(
            {"date_text": [text], "period_text": [period]},
            schema_overrides={"date_text": pl.String, "period_text": pl.String},
        ),
        ALL,
    ).row(0, named=True)
    return row["earliest_year"], row["latest_year"], row["date_circa"]


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("c. 1760", 1760, 1760),
        ("ca. 1450-75", 1450, 1475),
        ("um 1530", 1530, 1530),
        ("vers 1530", 1530, 1530),
        ("XVIe siècle", 1501, 1600),
        ("2e moitié du XVIe siècle", 1551, 1600),
        ("fin XVIIIe - début XIXe siècle", 1776, 1825),
        ("16. Jh.", 1501, 1600),
        ("1. Hälfte 16. Jahrhundert", 1501, 1550),
        ("Ende 18. Jh.", 1776, 1800),
        ("16de eeuw", 1501, 1600),
        ("tweede helft 18e eeuw", 1751, 1800),
        ("omstreeks 1750", 1750, 1750),
        ("ca. 1700 - ca. 1725", 1700, 1725),
        ("1600-tal", 1600, 1699),
        ("1700-talets mitt", 1725, 1774),
        ("omkring 1780", 1780, 1780),
        ("before 1900", None, 1900),
        ("vor 1600", None, 1600),
        ("nach 1550", 1550, None),
        ("efter 1750", 1750, None),
        ("avant 1700", None, 1700),
        ("1870s", 1870, 1879),
        ("1st century BC - 1st century AD", -100, 100),
        ("100 BC-AD 100", -100, 100),
        ("664-332 BCE", -664, -332),
        ("Qianlong period (1736-1795)", 1736, 1795),
        ("Ming dynasty", 1368, 1644),
        ("Meiji period", 1868, 1912),
        ("Edo", 1615, 1868),
        ("Louis XV", None, None),
        ("Louis XV period", 1715, 1774),
        ("époque Louis XVI", 1774, 1792),
        ("n.d.", None, None),
        ("s.d.", None, None),
        ("o. J.", None, None),
        ("z.j.", None, None),
        ("u.å.", None, None),
        ("mid-19th century", 1826, 1875),
        ("late 17th-early 18th century", 1676, 1725),
        ("early 1920s", 1920, 1922),
        ("3rd quarter of the 18th century", 1751, 1775),
        ("1914/1918", 1914, 1918),
        ("1914/18", 1914, 1918),
        ("AH 1161-1189/AD 1748-1775", 1748, 1775),
        ("1161-1189 AH/AD 1748-1775", 1748, 1775),
        ("1171 AH/AD 1757-1758", 1757, 1758),
        ("1953, manufactured 2011", 1953, 2011),
        ("designed 1945, manufactured 1945-1969 and 1989-present", 1945, None),
        ("16th century; with 19th century restorations", 1501, 1900),
        ("s. XVI", 1501, 1600),
        ("XVI s.", 1501, 1600),
        ("XVIe-XVIIe siècle", 1501, 1700),
        ("XVIIIe s.", 1701, 1800),
        ("17./18. Jh.", 1601, 1800),
        ("Anfang 18. Jh.", 1701, 1725),
        ("Ende des 18. Jahrhunderts", 1776, 1800),
        ("1. Viertel 16. Jh.", 1501, 1525),
        ("letztes Drittel 12. Jahrhundert", 1167, 1200),
        ("2. H. 16. Jh.", 1551, 1600),
        ("Mitte 18. Jh.", 1726, 1775),
        ("1760er Jahre", 1760, 1769),
        ("1760er", 1760, 1769),
        ("frühes 18. Jahrhundert", 1701, 1725),
        ("wohl um 1700", 1700, 1700),
        ("zwischen 1750 und 1760", 1750, 1760),
        ("1. Jh. v. Chr.", -100, -1),
        ("2. Jh. n. Chr.", 101, 200),
        ("1750 bis 1760", 1750, 1760),
        ("1er quart du XVIe siècle", 1501, 1525),
        ("début XVIIIe siècle", 1701, 1725),
        ("milieu du XVIe siècle", 1526, 1575),
        ("IIe siècle av. J.-C.", -200, -101),
        ("années 1870", 1870, 1879),
        ("entre 1750 et 1760", 1750, 1760),
        ("troisième quart du XIXe siècle", 1851, 1875),
        ("premier tiers du XIIe siècle", 1101, 1133),
        ("eerste helft 18e eeuw", 1701, 1750),
        ("begin 18e eeuw", 1701, 1725),
        ("eind 18e eeuw", 1776, 1800),
        ("jaren 1870", 1870, 1879),
        ("laatste kwart 19e eeuw", 1876, 1900),
        ("voor 1700", None, 1700),
        ("na 1550", 1550, None),
        ("tussen 1750 en 1760", 1750, 1760),
        ("1600-talet", 1600, 1699),
        ("1870-talet", 1870, 1879),
        ("tidigt 1700-tal", 1700, 1724),
        ("slutet av 1700-talet", 1775, 1799),
        ("början av 1800-talet", 1800, 1824),
        ("sent 1800-tal", 1875, 1899),
        ("1700-talets första hälft", 1700, 1749),
        ("1700-talet, senare hälften", 1750, 1799),
        ("mitten av 1700-talet", 1725, 1774),
        ("mellan 1750 och 1760", 1750, 1760),
        ("1600-tal - 1700-tal", 1600, 1799),
        ("1600-1700-tal", 1600, 1799),
        ("före 1700", None, 1700),
        ("circa 1900", 1900, 1900),
        ("about 1900", 1900, 1900),
        ("1760 (made)", 1760, 1760),
        ("1899-1908 (made)", 1899, 1908),
        ("ca. 1550–1560", 1550, 1560),
        ("12 March 1889", 1889, 1889),
        ("1889-03-12", 1889, 1889),
        ("12.3.1889", 1889, 1889),
        ("early–mid 18th century", 1701, 1775),
        ("mid to late 19th century", 1826, 1900),
        ("second half of the 16th century", 1551, 1600),
        ("sixteenth century", 1501, 1600),
        ("19th-20th century", 1801, 2000),
        ("1st half 16th c.", 1501, 1550),
        ("18th c.", 1701, 1800),
        ("4th century B.C.", -400, -301),
        ("A.D. 300-400", 300, 400),
        ("late 1st century BC", -25, -1),
        ("3rd-2nd century BC", -300, -101),
        ("between 1750 and 1760", 1750, 1760),
        ("dated 1765", 1765, 1765),
        ("1644-1911", 1644, 1911),
        ("Qing dynasty (1644-1911), Qianlong mark and period", 1644, 1911),
        ("Qing dynasty, Qianlong period", 1736, 1795),
        ("Qianlong mark, 19th century", 1801, 1900),
        ("Ming-Qing dynasty", 1368, 1911),
        ("Meiji era (1868-1912)", 1868, 1912),
        ("1800s", 1800, 1899),
        ("1700s", 1700, 1799),
        ("probably 1750", 1750, 1750),
        ("1750?", 1750, 1750),
        ("ca 1860-talet", 1860, 1869),
        ("XIIe siècle (vers 1180)", 1101, 1200),
        ("1180-1200 vers", 1180, 1200),
        ("1er quart du 13e siècle", 1201, 1225),
        ("13e siècle", 1201, 1300),
        ("XIX", None, None),
        ("19. århundradet", 1801, 1900),
        ("500 f. Kr.", -500, -500),
        ("från 1750", 1750, None),
        ("around 1900-1910", 1900, 1910),
        ("Victorian", None, None),
        ("Art Deco", None, None),
        ("modern", None, None),
        ("late 18th or early 19th century", 1776, 1825),
        ("ca. 1895–1900, remounted 1920", 1895, 1920),
        ("1897 or earlier", None, 1897),
        ("from 1750 to 1760", 1750, 1760),
        ("1750 to 1760", 1750, 1760),
        ("de 1750 à 1760", 1750, 1760),
        ("XVIIe ou XVIIIe siècle", 1601, 1800),
        ("15./16. Jahrhundert", 1401, 1600),
        ("um 1560/70", 1560, 1570),
        ("um 1560-70", 1560, 1570),
        ("1560-65", 1560, 1565),
        ("by 1880", None, 1880),
    ],
)
def test_years(text, earliest, latest):
    assert read(text)[:2] == (earliest, latest)


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
