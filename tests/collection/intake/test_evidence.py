"""Evidence from all texts of an object, words in other forms, and damage told without its kind.

Phrases are invented in the words of the trade: common practice, no source.
"""

import polars as pl
import pytest

from collection.intake.languages import load
from collection.intake.text.clauses import FLAGGED, NOT_ON_METAL, NOT_READ, ON_METAL
from collection.intake.text.lexicon import Lexicon, Sense
from collection.intake.text.materials import AMBIGUOUS, read_materials
from collection.intake.text.remarks import read_remarks

ALL = load()
COLUMNS = ("materials_text", "classification_text", "title", "description", "technique_text")


def read(materials=None, **texts):
    row = {"materials_text": materials, **texts}
    frame = pl.DataFrame({c: [row.get(c)] for c in COLUMNS}, schema=dict.fromkeys(COLUMNS, pl.String))
    return read_materials(frame, ALL).row(0, named=True)


def remark(text):
    return read_remarks(pl.Series([text]), ALL).row(0, named=True)


@pytest.mark.parametrize(
    ("texts", "technique", "metal"),
    [
        ({"title": "Ring of silver", "description": "Champlevé in two blues."}, "champleve", "silver"),
        ({"title": "Cup with enamel", "description": "basse-taille"}, "basse_taille", None),
        (
            {"materials": "enamel", "title": "Silver beaker", "description": "Painted enamel scenes"},
            "painted",
            "silver",
        ),
        ({"materials": "Email", "title": "Kupferdose", "description": "Grubenschmelz"}, "champleve", "copper"),
        ({"title": "Coupe en argent", "description": "Émail de basse-taille bleu."}, "basse_taille", "silver"),
        ({"materials": "emalje", "title": "Æske af kobber", "description": "Malet emalje"}, "painted", "copper"),
        ({"materials": "smalto", "title": "Scatola d'argento"}, "enamel_unspecified", "silver"),
        ({"materials": "brass, enamel", "title": "Silver wedding box"}, "enamel_unspecified", "brass"),
    ],
)
def test_the_most_exact_technique_counts_and_the_metal_may_stand_in_the_title(texts, technique, metal):
    row = read(**texts)
    assert (row["technique"][-1], row["base_metal"]) == (technique, metal)


def test_two_metals_of_a_title_are_asked_about():
    assert read("enamel", title="Gold and silver box")["certainty"] == AMBIGUOUS


@pytest.mark.parametrize(
    ("texts", "verdict"),
    [
        ({"materials": "crystal, enamel paint; relief-email"}, NOT_ON_METAL),
        ({"materials": "enamel-painted", "title": "Glass beaker"}, NOT_ON_METAL),
        ({"materials": "émail peint", "title": "Verre à boire"}, NOT_ON_METAL),
        ({"materials": "geschilderd email", "title": "Glas"}, NOT_ON_METAL),
        ({"materials": "cloisonné", "title": "Glass bowl"}, FLAGGED),
        ({"materials": "enamel-painted", "title": "Silver and glass beaker"}, ON_METAL),
        ({"title": "Pastel", "description": "Pastel. The sitter wears an enamelled order."}, NOT_ON_METAL),
        ({"title": "Portrait in oil", "description": "The sitter wears an enamelled order."}, NOT_ON_METAL),
        ({"title": "Order", "description": "An enamelled order."}, ON_METAL),
        ({"materials": "stoneware; enamel"}, NOT_ON_METAL),
        ({"materials": "steel, glass; enamelled"}, FLAGGED),
        ({"materials": "Stahl, Glas; emailliert"}, FLAGGED),
        ({"materials": "acier, verre ; émaillé"}, FLAGGED),
        ({"materials": "steel; enamelled"}, ON_METAL),
    ],
)
def test_another_body_is_told_from_metal_or_asked_about(texts, verdict):
    assert read(**texts)["verdict"] == verdict


def test_metal_and_glass_with_enamelled_apart_keeps_the_metal():
    assert read("steel, glass; enamelled")["base_metal"] == "steel"


@pytest.mark.parametrize(
    ("materials", "technique"),
    [
        ("tinplate, enamel; painted", "enamel_unspecified"),
        ("Eisenblech, Email; bemalt", "enamel_unspecified"),
        ("silver box, enamelled, lid set with a miniature on vellum", "enamel_unspecified"),
        ("gold box, enamelled, lid set with a portrait miniature on ivory", "enamel_unspecified"),
        ("painted enamel on copper, Limoges", "painted_limoges"),
        ("Smalto dipinto su rame, Limoges", "painted_limoges"),
        ("champlevé enamel, Limoges", "champleve"),
        ("Silver filigree with enamel", "filigree"),
        ("Hänge av guldfiligran, emaljerat", "filigree"),
        ("gold filigree, enamelled", "filigree"),
        ("Filigrane d'argent émaillé", "filigree"),
        ("Filigrana de plata con esmaltes", "filigree"),
        ("Smalto traslucido su oro", "enamel_unspecified"),
        ("enamel on copper with filigree mounts", "enamel_unspecified"),
    ],
)
def test_only_what_is_said_of_the_enamel_names_its_technique(materials, technique):
    assert read(materials)["technique"][-1] == technique


@pytest.mark.parametrize(
    ("cell", "technique"),
    [
        ("Grisaille", "grisaille"),
        ("Painted (Limoges)", "painted_limoges"),
        ("Canton", "painted_chinese"),
        ("gemalt", "painted"),
    ],
)
def test_under_a_heading_for_techniques_the_word_for_one_is_enough(cell, technique):
    row = read(cell, technique_text=cell)
    assert (row["technique"][-1], row["verdict"]) == (technique, ON_METAL)
    assert read(cell)["verdict"] == NOT_READ


@pytest.mark.parametrize(
    ("metal", "verdict"), [("copper", ON_METAL), ("tinplate", ON_METAL), ("pewter", FLAGGED), ("wood", NOT_ON_METAL)]
)
def test_under_such_a_heading_another_body_and_a_metal_that_is_painted_count(metal, verdict):
    assert read(f"{metal}; Painted", technique_text="Painted")["verdict"] == verdict


def test_the_heading_says_that_a_technique_is_enough(store, bring_in, write_csv):
    bring_in(write_csv("o.csv", "Inv. no.,Technique,Material", "T.1,Grisaille,copper"))
    done = bring_in(write_csv("p.csv", "Inv. no.,Medium", "T.2,Grisaille"))

    assert store.read()["object"].sort("object_id")["technique"].to_list() == [["painted", "grisaille"], None]
    assert done.problems["rule"].to_list() == ["material_not_read"]


@pytest.mark.parametrize(
    ("text", "metal"),
    [
        ("Silberdose mit Email", "silver"), ("koperen dozen met email", "copper"), ("Emaljerade kopparplattor", "copper"),
        ("emaljeret jernskilt", "iron"), ("sølvknapper med emalje", "silver"), ("vergulde zilveren beker, email", "silver"),
        ("Emailmalerei, Kupferstich", None), ("email, Goldschmiedearbeit", None), ("goudsmid, email", None),
    ],
)  # fmt: skip
def test_metals_are_read_in_compounds_and_endings(text, metal):
    assert read(text)["base_metal"] == metal


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("Voile blanchâtre sur l'émail", ["dulling"]), ("plaque voilée", ["bend"]), ("voilé", ["bend"]), ("VOILE", ["dulling"]),
        ("boîte en écaille", []), ("émail écaillé", ["flaking"]),
    ],
)  # fmt: skip
def test_accents_part_words_where_a_language_lists_both(text, kinds):
    assert remark(text)["kinds"] == kinds


def test_accents_that_a_text_leaves_out_part_nothing():
    listed = [("voilé", Sense("fr", "damage", "bend")), ("émail", Sense("fr", "coat", "loss"))]

    assert Lexicon(listed).tokens("voile")[0].senses == {"damage": "bend"}
    assert Lexicon(listed).tokens("Email")[0].senses == {"coat": "loss"}


@pytest.mark.parametrize(
    "text",
    [
        "Enamel damaged near the hinge", "Damaged", "Endommagé dans un angle", "An einer Ecke beschädigt", "Beschadigd", "Skadad i kanten",
        "Danneggiato sul bordo", "Dañado en el borde", "Beskadiget i kanten", "Skadet i kanten", "losses; badly damaged",
    ],
)  # fmt: skip
def test_damage_of_which_the_kind_is_not_said_is_said(text):
    assert remark(text)["unsaid"]


@pytest.mark.parametrize(
    "text",
    [
        "not damaged",
        "no damage",
        "undamaged",
        "heat damage",
        "damaged by cracks",
        "unbeschädigt",
        "keine Schäden",
        "pas de dommage",
    ],
)
def test_damage_that_is_denied_or_whose_kind_is_said_is_not(text):
    assert not remark(text)["unsaid"]


def test_damage_of_unsaid_kind_is_asked_and_recorded_as_none(store, bring_in, write_csv):
    done = bring_in(
        write_csv("o.csv", "Inv. no.,Material,Condition", "D.1,enamel on copper,Enamel damaged near the hinge")
    )

    assert store.read()["damage"].is_empty()
    asked = done.unread.cells.filter(rule="damage_of_unsaid_kind")
    assert asked["examples"].to_list() == [["Enamel damaged near the hinge"]]


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("Traces of enamel in the cells", ["loss"]), ("enamel survives only in the grooves", ["loss"]), ("restes d'émail bleu", ["loss"]),
        ("Reste von Email", ["loss"]), ("Email nur noch in Resten", ["loss"]), ("resten van email", ["loss"]), ("rester av emalj", ["loss"]),
        ("resti di smalto", ["loss"]), ("restos de esmalte", ["loss"]), ("rester af emalje", ["loss"]), ("no traces of enamel", []),
        ("rester på emaljen", ["accretion"]), ("traces of glue on the enamel", []), ("traces of corrosion", ["cu_corrosion"]),
    ],
)  # fmt: skip
def test_remains_of_enamel_tell_of_loss_and_remains_on_it_do_not(text, kinds):
    assert remark(text)["kinds"] == kinds


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("gilding slightly worn", ["gilding_loss"]), ("worn, gilding bright", ["abrasion"]), ("dorure en partie effacée", ["gilding_loss"]),
        ("Vergoldung stark abgerieben", ["gilding_loss"]), ("verguldsel gesleten", ["gilding_loss"]), ("förgyllningen sliten", ["gilding_loss"]),
        ("doratura consunta", ["gilding_loss"]), ("dorado desgastado", ["gilding_loss"]), ("forgyldningen slidt", ["gilding_loss"]),
        ("forgyllingen slitt", ["gilding_loss"]), ("gilding not worn", []),
    ],
)  # fmt: skip
def test_wear_beside_a_word_for_gilding_is_of_the_gilding(text, kinds):
    assert remark(text)["kinds"] == kinds


@pytest.mark.parametrize(
    ("heading", "cell", "asked"),
    [
        ("Remarks", "flaking near the hinge", 1),
        ("Bemerkungen", "Riss am Rand", 1),
        ("Remarks", "shown in 1911", 0),
        ("Description", "a flaking wall behind the saint", 0),  # a heading of its own says what it is
    ],
)
def test_remarks_that_name_damage_and_were_taken_for_a_description_are_asked_about(
    heading, cell, asked, bring_in, write_csv, store
):
    answer = bring_in(write_csv("c.csv", f"object_id;title;technique;{heading}", f"A;Box;cloisonne;{cell}"))

    assert answer.problems.filter(rule="remarks_of_condition").height == asked
    assert store.read()["object"]["description"].to_list() == [cell]
