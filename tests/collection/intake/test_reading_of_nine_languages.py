"""Rules of reading that hold in every language: activity, grades, what is missing, decades, and remarks not read.

Phrases are invented in the words of the trade: common practice, no source.
"""

import polars as pl
import pytest

from collection.intake.languages import load
from collection.intake.text.dates import read_dates
from collection.intake.text.materials import read_materials
from collection.intake.text.remarks import read_grades, read_remarks, unread_remarks

ALL = load()


def remark(text):
    row = read_remarks(pl.Series([text]), ALL).row(0, named=True)
    return dict(zip(row["kinds"], row["activities"], strict=True))


@pytest.mark.parametrize(
    ("text", "states"),
    [
        ("weeping, lifting, active", {"weeping": "active", "lifting": "active"}),
        ("crack, stable; chip", {"crack": "appears_stable", "chip": "unknown"}),
        ("active corrosion, chip", {"cu_corrosion": "active", "chip": "unknown"}),
        ("Flaking at rim. Active.", {"flaking": "active"}),
        ("Stable. Chip at rim", {"chip": "unknown"}),
        ("crack stable; crack active", {"crack": "active"}),
        ("aktive Korrosion, Riss", {"cu_corrosion": "active", "crack": "unknown"}),
        ("fissures actives", {"crack": "active"}),
        ("barst, stabiel", {"crack": "appears_stable"}),
        ("aktiv korrosion", {"cu_corrosion": "active"}),
        ("corrosione attiva", {"cu_corrosion": "active"}),
        ("grieta estable", {"crack": "appears_stable"}),
        ("aktiv korrosjon, sprekk", {"cu_corrosion": "active", "crack": "unknown"}),
    ],
)
def test_a_word_of_activity_speaks_of_the_damage_beside_it(text, states):
    assert remark(text) == states


@pytest.mark.parametrize("text", ["crack, not active", "Riss, nicht stabil", "no longer active: crack"])
def test_an_activity_that_is_denied_is_none(text):
    assert remark(text) == {"crack": "unknown"}


@pytest.mark.parametrize("text", ["no losses, active corrosion", "no losses; corrosion active"])
def test_a_denial_does_not_reach_past_a_word_of_activity(text):
    assert remark(text) == {"cu_corrosion": "active"}


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("no cracks, chip at rim", ["chip"]),
        ("inga sprickor, nagg i kanten", ["chip"]),
        ("no cracks, chips", []),
        ("no cracks, losses or chips", []),
        ("no cracks, chips visible", []),
    ],
)
def test_a_denied_list_goes_on_while_its_words_stand_bare_or_an_or_follows(text, kinds):
    assert list(remark(text)) == kinds


@pytest.mark.parametrize(
    "text", ["Glaskrankheit, feucht", "crizzling, damp", "maladie du verre, poisseux", "glassyge, fugtig"]
)
def test_sick_glass_that_is_wet_weeps(text):
    assert remark(text) == {"crizzling": "unknown", "weeping": "active"}


@pytest.mark.parametrize("text", ["feuchter Riss", "Riss; Etikett feucht", "crack; box damp", "crizzling, not damp"])
def test_wet_alone_is_no_weeping(text):
    assert "weeping" not in remark(text)


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("Missing its lid", ["part_missing"]),
        ("enamel lost from the foot", ["loss"]),
        ("missing in places", ["loss"]),
        ("manca il piccolo coperchio", ["part_missing"]),
        ("falta esmalte en el borde", ["loss"]),
        ("låget mangler", ["part_missing"]),
        ("emaljen mangler", ["loss"]),
        ("Griff abgebrochen", ["part_missing"]),
        ("no handle missing", []),
        ("kein Henkel fehlt", []),
    ],
)
def test_what_is_missing_is_a_part_or_enamel(text, kinds):
    assert list(remark(text)) == kinds


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("Very good condition", "good"),
        ("mauvais état", "poor"),
        ("Erhaltungszustand: gut", "good"),
        ("zeer slecht", "unacceptable"),
        ("dåligt skick", "poor"),
        ("pessimo", "unacceptable"),
        ("mal estado", "poor"),
        ("rimelig", "fair"),
        ("svært god", "good"),
        ("2", None),
        ("B", None),
        ("good to fair", None),
        ("nicht gut", None),
        ("good but dusty", None),
        ("", None),
        (None, None),
    ],
)
def test_a_grade_is_read_where_every_word_is_of_it(text, grade):
    assert read_grades(pl.Series("grade", [text], dtype=pl.String), ALL).to_list() == [grade]


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("1880'erne", (1880, 1889)),
        ("1880-årene", (1880, 1889)),
        ("1880's", (1880, 1889)),
        ("1700-tallets begyndelse", (1700, 1724)),
        ("anni Venti del Novecento", (1920, 1929)),
        ("anni '20 del XX secolo", (1920, 1929)),
        ("años veinte del siglo XX", (1920, 1929)),
        ("seconda metà del Cinquecento", (1550, 1599)),
        ("anni Venti", (None, None)),  # of which century is not said
        ("venti pezzi", (None, None)),
        ("1500-luku", (None, None)),  # an ending nobody knows
        ("1500-1510", (1500, 1510)),
    ],
)
def test_decades_and_centuries_in_words(text, years):
    row = read_dates(pl.DataFrame({"date_text": [text]}), ALL).row(0, named=True)
    assert (row["earliest_year"], row["latest_year"]) == years


@pytest.mark.parametrize(
    ("text", "finish"),
    [
        ("Cloisonné enamel on copper, gilt wires", None),
        ("Émail cloisonné sur cuivre, fils dorés", None),
        ("Cloisonné enamel on copper, gilt", "gilded"),
        ("Cloisonné enamel on gilt copper, wires", "gilded"),
    ],
)
def test_a_gilt_wire_is_no_gilt_object(text, finish):
    assert read_materials(pl.DataFrame({"materials_text": [text]}), ALL)["metal_finish"].to_list() == [finish]


def test_a_year_beside_a_word_in_unknown_letters_is_not_exact():
    texts = ["до 1638", "1638 года", "до; 1638", "before 1638", "1638"]
    rows = read_dates(pl.DataFrame({"date_text": texts}), ALL)
    assert rows["word_beside"].to_list() == ["до", "года", None, None, None]


def test_a_remark_without_a_known_word_is_unread():
    texts = ["эмаль утрачена", "senza lacune", "no cracks", "good", "stable", "3", "", None, "see file"]
    assert unread_remarks(pl.Series("r", texts), ALL).to_list() == [
        True, False, False, False, False, False, False, False, True,
    ]  # fmt: skip


def test_words_of_a_list_of_checks_become_grade_and_active_damage(write_csv, bring_in, store):
    bring_in(
        write_csv("o.csv", "object_id,title,technique,base_metal", "K 1,Dose,painted,copper", "K 2,Dose,painted,copper")
    )

    result = bring_in(
        write_csv(
            "c.csv",
            "Datum;Inventarnummer;Geprüft von;Zustand;Befund",
            "12.03.2019;K 1;Ada;schlecht;Glaskrankheit, feucht",
            "13.03.2019;K 2;Ada;2;siehe Akte",
        ),
        record="condition_check",
    )

    held = store.read()
    assert held["condition_check"].sort("object_id")["grade"].to_list() == ["poor", None]
    lines = held["observation"].join(held["damage"], on="damage_id").select("kind", "activity").sort("kind").rows()
    assert lines == [("crizzling", "unknown"), ("weeping", "active")]
    listed = result.problems.select("rule", "value").rows()
    assert ("remark_not_read", "siehe Akte") in listed
    assert any(value == "2" for _, value in listed)
