"""Condition remarks become damage kinds, repair materials and a date; what is denied is not read.

Remarks are invented in the words of the trade: common practice, no source.
"""

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.intake.languages import load
from collection.intake.text.remarks import SCHEMA, read_damage_terms, read_remarks

ALL = load()


def read(text):
    return read_remarks(pl.Series([text], dtype=pl.String), ALL).row(0, named=True)


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("Small chip at rim; hairline crack to underside.", ["chip", "crack"]),
        ("chipped", ["chip"]),
        ("Losses to enamel and gilding worn", ["loss", "gilding_loss"]),
        ("Two dents in the base with radial cracks", ["dent", "radial_crack"]),
        ("Verdigris around wires; lifted wires", ["cu_corrosion", "wire_lift"]),
        ("Weeping, slimy surface, crizzling stage 2", ["weeping", "crizzling"]),
        ("glass-induced metal corrosion; bronze disease", ["glass_induced_metal_corrosion", "chloride_corrosion"]),
        ("Riss im Email, Rand bestoßen, Grünspan", ["crack", "chip", "cu_corrosion"]),
        ("manques et fissures, dorure usée", ["loss", "crack", "gilding_loss"]),
        ("éclats, légères usures", ["chip", "abrasion"]),
        ("haarscheuren, lacunes, deuk", ["crack", "loss", "dent"]),
        ("sprickor och bortfall, anlupet", ["crack", "loss", "ag_tarnish"]),
    ],
)
def test_damage_kinds_in_the_order_named(text, kinds):
    assert read(text)["kinds"] == kinds


@pytest.mark.parametrize(
    "text",
    [
        "No cracks, chips or losses.",
        "Without damage",
        "Good condition",
        "Apple Blossoms",
        "crackled glaze",
        "lost-wax casting",
        "no visible cracks",
        "not flaking",
        "keine Risse",
        "ohne Fehlstellen",
        "sans fissure ni éclat",
        "pas d'éclats",
        "geen barsten of deuken",
        "inga sprickor eller nagg",
        "",
        None,
        "stable",
    ],
)
def test_what_is_denied_or_only_looks_like_damage_is_not_read(text):
    row = read(text)
    assert (row["kinds"], row["repair_materials"], row["remark_words"]) == ([], [], None)


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("no cracks, small chip at rim", ["chip"]),
        ("free from chips and cracks; corrosion at foot", ["cu_corrosion"]),
        ("no cracks but chipped", ["chip"]),
        ("The enamel shows no sign of recent flaking or loss but has scratches", ["scratch"]),
        ("Cracks. No losses", ["crack"]),
        ("geen barsten of deuken, krassen", ["scratch"]),
        ("not examined; cracked", ["crack"]),
    ],
)
def test_a_denial_ends_where_its_clause_ends(text, kinds):
    assert read(text)["kinds"] == kinds


@pytest.mark.parametrize(
    ("text", "materials"),
    [
        ("Old repair, filled with wax", ["wax"]),
        ("repaired", ["unknown"]),
        ("Restored in 1972", ["unknown"]),
        ("Epoxy fills, overpaint", ["epoxy", "oil_overpaint"]),
        ("partially re-enameled", ["re_fired"]),
        ("stabilised with Paraloid B-72", ["acrylic_b72"]),
        ("mit Schellack geklebt", ["shellac"]),
        ("bouchages à la cire", ["unknown", "wax"][1:]),
        ("gevuld met was", ["wax"]),
        ("lagad med epoxi", ["epoxy"]),
    ],
)
def test_repair_materials_and_an_unnamed_one_where_only_a_repair_is_said(text, materials):
    assert read(text)["repair_materials"] == materials


@pytest.mark.parametrize(
    ("text", "dated"),
    [
        ("flaking 1986", "1986"),
        ("Checked 12 May 1986", "1986-05-12"),
        ("May 12, 1986: stable", "1986-05-12"),
        ("Restored 1972-06", "1972-06"),
        ("crizzling (March 2001)", "2001-03"),
        ("25.12.1999", "1999-12-25"),
        ("12/25/1999", "1999-12-25"),
        ("cracked 3/4/1990", "1990"),
        ("chip 1986, worse 1994", "1994"),
        ("3. März 1978", "1978-03-03"),
        ("mars 1978", "1978-03"),
        ("19th century repair", None),
        ("1870s repair", None),
        ("inv. 1234", None),
        ("H 1999.5 mm", None),
        ("chipped", None),
        ("2019-13-45", "2019"),
    ],
)
def test_the_date_is_as_coarse_as_written_and_the_latest(text, dated):
    assert read(text)["dated"] == dated


def test_a_condition_column_of_words_becomes_terms():
    terms = read_damage_terms(pl.Series("damage", ["chipped", None, "Riss", "chipped"]), ALL)
    assert terms.to_list() == [["chip"], [], ["crack"], ["chip"]]
    assert terms.name == "damage"


def test_rows_keep_their_order_and_schema():
    rows = read_remarks(pl.Series(["dent", None, "chip"]), ALL)
    assert rows["kinds"].to_list() == [["dent"], [], ["chip"]]
    assert dict(rows.schema) == dict(SCHEMA)


PIECES = st.lists(
    st.sampled_from(
        [
            "no",
            "cracks",
            ",",
            "chip",
            ";",
            "or",
            "and",
            "but",
            "May",
            "12",
            "1986",
            "12.5.1986",
            "repaired",
            "wax",
            "keine",
            "Risse",
            "-",
            "(",
            ")",
            "not",
            "99",
        ]
    )
)


@settings(deadline=None, max_examples=200)
@given(st.one_of(st.text(max_size=40), PIECES.map(" ".join), PIECES.map("".join)))
def test_no_text_makes_the_reader_fail(text):
    row = read(text)
    assert len(row["kinds"]) == len(set(row["kinds"]))
    assert row["dated"] is None or row["dated"][:4].isdigit()
