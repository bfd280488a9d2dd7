"""Materials prose becomes technique, metal, finish and a verdict; what is not stated stays empty.

Lines marked W are from The Walters Art Museum (CC0, api-thewalters-org commit 6027e27), lines marked C from Carnegie
Museum of Art (CC0, cmoa/collection commit 3603ad5); the others are invented in the manner of museums of five countries.
"""

import polars as pl
import pytest

from collection.intake.text.materials import FLAGGED, NOT_ON_METAL, NOT_READ, ON_METAL, SCHEMA, read_materials
from schemas.vocabularies import vocabulary
from tests.collection.intake.one_text import ALL
from tests.collection.intake.one_text import materials_of as read


@pytest.mark.parametrize(
    ("text", "technique", "metal", "finish"),
    [
        ("champlevé enamel on copper with gilding", "champleve", "copper", "gilded"),  # W
        ("silver gilding, filigree and painted enamel", "filigree painted", "silver", "gilded"),  # W
        ("guilloché gold, basse-taille enamel, pearl", "basse_taille", "gold", None),  # W
        ("pink enamel on guilloché gold, diamonds", "guilloche", "gold", None),  # W
        ("painted enamel and gold on silvered copper", "painted", "copper", "silvered"),  # W
        ("painted enamel on copper, gilt metal frame", "painted", "copper", None),  # W, shortened
        ("silver-wire and wireless cloisonné enamel, gilded copper alloy", "cloisonne musen", "copper_alloy", "gilded"),
        ("silver gilding, plique-à-jour, chaplevé, and en plein enamel", "plique_a_jour champleve", "silver", "gilded"),
        ("tempera on wood, silver filigree, enamel", "enamel_unspecified", "silver", None),  # W
        (
            "gilt on brass and purple glass case, copper and enamel dial, gilt on brass and steel movement",
            "enamel_unspecified",
            "copper",
            None,
        ),  # W
        ("copper alloy, cloisonne enamel and gilt bronze", "cloisonne", "copper_alloy", None),  # C
        ("cloisonne enamel and gilt metal mounts", "cloisonne", None, None),  # C
        ("watercolor on card or vellum, gold and enamel frame", "enamel_unspecified", "gold", None),  # C
        ("brass and cloisonné (fused glass)", "cloisonne", "brass", None),  # C
        ("ormolu, enamel on copper", "enamel_unspecified", "copper", None),  # W
        ("gold case, brass movement, enamel dial", "enamel_unspecified", None, None),
        ("Cloisonné enamel on copper alloy, gilt", "cloisonne", "copper_alloy", "gilded"),
        ("champ-\nlevé enamel on copper", "champleve", "copper", None),
        ("bassetaille enamel, silver", "basse_taille", "silver", None),
        ("champleve\u0301 enamel\x92s on copper", "champleve", "copper", None),
        ("Silber, vergoldet, Drahtemail", "filigree", "silver", "gilded"),
        ("Gold, guillochiert, transluzides Email, Diamanten", "guilloche", "gold", None),
        ("Kupfer, Maleremail; Fassung: Bronze, vergoldet", "painted", "copper", None),
        ("cuivre champlevé, émaillé et doré", "champleve", "copper", "gilded"),
        ("émail sur cuivre, cadre en bois doré", "enamel_unspecified", "copper", None),
        ("Montre en or émaillé", "enamel_unspecified", "gold", None),
        ("émail peint en grisaille sur cuivre", "painted grisaille", "copper", None),
        ("geelkoper, verguld, email", "enamel_unspecified", "brass", "gilded"),
        ("zilver, vensteremail", "plique_a_jour", "silver", None),
        ("guld, emalj på guillocherad botten", "guilloche", "gold", None),
        ("förgylld koppar, gropemalj", "champleve", "copper", "gilded"),
    ],
)
def test_technique_metal_and_finish(text, technique, metal, finish):
    row = read(text)
    assert (row["technique"], row["base_metal"], row["metal_finish"]) == (technique.split(), metal, finish)
    assert row["verdict"] == ON_METAL
    assert row["technique_words"]
    assert (row["base_metal_words"] is None) == (metal is None)


@pytest.mark.parametrize(
    "text",
    [
        "porcelain with overglaze enamels",  # W
        "soft-paste porcelain, enamel, gilt",  # W
        "glass with painted enamel and gilding",  # W
        "hand-blown glass, enamled (enamel-sand mix)",  # C
        "muslin soaked in plaster on wire mesh, painted with enamel",  # C
        "stove-enameled cast aluminum w/cotton velour-covered upholstery",  # C
        "tin enamel glazed earthenware",  # C
        "porcelain with a metal cloisonne glaze",  # C
        "cotton, pieced, sewn, appliqued and embroidered",  # C
        "silver gilding, cold painted enamel",  # W
        "oil and enamel on canvas",  # C
        "gold, garnet cloisonné",
        "Soft enamel badge, brass",
        "Japanned metal",
        "silver, niello",
        "Limoges porcelain",
        "E-mail printed on paper",
        "Enamel paint on board",
        "Porzellan, Aufglasurmalerei",
        "Kaltemail auf Silber",
        "verre émaillé et doré",
        "émail à froid sur argent",
        "grenats cloisonnés, or",
        "emailverf op doek",
        "porslin, emaljfärger",
    ],
)
def test_what_is_not_vitreous_enamel_on_metal_is_said_so(text):
    row = read(text)
    assert row["verdict"] == NOT_ON_METAL
    assert row["technique"] == []
    assert row["base_metal"] is None


@pytest.mark.parametrize(
    ("text", "metal"), [(None, None), ("", None), ("Silver", "silver"), ("Technik unbekannt, Kupfer", "copper")]
)
def test_without_a_word_that_says_otherwise_nothing_is_called_outside(text, metal):
    row = read(text)

    assert (row["verdict"], row["technique"], row["base_metal"]) == (NOT_READ, [], metal)


@pytest.mark.parametrize("text", ["cloisonné enamel on porcelain", 'gold, glass, "en résille" enamel', "tōtai shippō"])
def test_ceramic_bodied_cloisonne_and_enamel_in_glass_are_kept_with_a_flag(text):
    assert read(text)["verdict"] == FLAGGED


def test_plique_a_jour_needs_no_named_metal():
    row = read("plique-à-jour enamel")
    assert (row["verdict"], row["base_metal"], row["certainty"]) == (ON_METAL, None, "implied")


def test_a_metal_without_a_name_is_not_the_same_as_no_metal():
    assert read("enamel on metal")["base_metal"] == "unknown"
    assert read("painted enamel")["base_metal"] is None


def test_two_metals_and_no_way_to_tell_is_the_first_and_ambiguous():
    row = read("gold, silver, enamel, diamonds")
    assert (row["base_metal"], row["certainty"]) == ("gold", "ambiguous")


def test_wire_is_not_the_body():
    row = read("silver-wire cloisonné enamel, metal body")
    assert (row["wire_metal"], row["base_metal"]) == ("silver", "unknown")


def test_a_miniature_filed_under_paintings_is_painted_unless_the_enamel_is_its_frame():
    kept = {"classification_text": "paintings", "title": "Miniature Portrait of an Unknown Man"}
    assert read("enamel on copper; gilt metal frame", **kept)["technique"] == ["painted"]
    framed = read("watercolor on ivory; gilt metal and enamel frame", **kept)
    assert framed["technique"] == ["enamel_unspecified"]


def test_what_it_is_filed_under_decides_bare_enamel_and_enamel_on_aluminium():
    assert read("enamel", classification_text="Ceramics")["verdict"] == NOT_ON_METAL
    assert read("enamel", classification_text="Metals")["verdict"] == ON_METAL
    assert read("enamel on aluminum", classification_text="paintings")["verdict"] == NOT_ON_METAL


def test_the_title_speaks_where_the_materials_do_not_name_enamel():
    assert read("copper, brass wire", title="Cloisonné vase")["technique"] == ["cloisonne"]
    assert read("Inkjet print", title="Soldier Checking Email")["verdict"] == NOT_READ


def test_a_word_of_one_language_does_not_read_another():
    """French *or* is gold, English *or* is not."""
    assert read("enamel, steel or brass")["base_metal"] == "steel"
    assert read("or, émail")["base_metal"] == "gold"


def test_every_term_read_belongs_to_its_vocabulary_and_broader_stands_before_narrower():
    technique, metal = vocabulary("technique").term, vocabulary("metal").term
    row = read("yūsen shippō and musen shippō on bronze")
    assert row["technique"] == ["cloisonne", "yusen", "musen"]
    assert set(row["technique"]) <= set(technique)
    assert row["base_metal"] in metal


def test_rows_keep_their_order_and_absent_columns_are_empty():
    texts = pl.DataFrame({"materials_text": ["enamel on gold", None, "enamel on copper", "enamel on gold"]})
    read_rows = read_materials(texts, ALL)
    assert read_rows["base_metal"].to_list() == ["gold", None, "copper", "gold"]
    assert dict(read_rows.schema) == dict(SCHEMA)
    assert read_materials(pl.DataFrame({"other": ["x"]}), ALL).height == 1
    assert read_materials(texts.clear(), ALL).schema == read_rows.schema
