"""Sentences that would lead a person to harm an object or themselves, or that are false, are gone from the files that
held them, and what must be said instead stands there.

Each case: the finding in plain words, the file, the old wording, what must be there. The findings are those of a reading
by the trade's practice; where a statement of fact is behind one it is named beside the case.
"""

from pathlib import Path

import pytest

import collection
from schemas.terms import Damage
from schemas.vocabularies import folder, load_parameters, terms, vocabulary

WORDS = Path(collection.__file__).parent / "documents" / "words.toml"

# finding, file, what stood there, what must stand there
SENTENCES = [
    ("wiping dust wet is read as wiping the object wet", "cautions.toml", "wet wiping of dust", "wiped damp afterwards, never the object"),
    ("gypsum expands as it sets: any handbook on plaster", "repair_material.toml", "Shrinks slightly", "expands slightly as it sets"),
    ("only a separately fired insert is glued, Schwahn 2014", "repair_material.toml", "Looks sound; edges are glued", "A separately fired piece glued into a loss"),
    ("the lacquer traps nothing: damp gathers beneath it, V&A Conservation Journal 58", "repair_material.toml", "traps damp and salts", "over unstable glass damp and salts gather beneath"),
    ("overpaint is a use, oil paint the material", "repair_material.toml", 'label = "Oil overpaint"', 'label = "Oil paint"'),
    ("weeping is a solution, salts are crystals: Corning, stages", "damage.toml", "droplet film of alkaline salts", "film of alkaline solution, in damp air"),
    ("salts are not always white and sit on the surface too", "damage.toml", '"White crystals on or in cracks"', "white, or blue-green with copper"),
    ("what sheds now cannot be offered as stable", "damage.toml", '"Pieces shedding"', "comes away in scales, or has and leaves lifted rims"),
    ("a definition is no rule of data", "damage.toml", "Bare metal without a loss recorded for the place", "laid bare by wear or corrosion on a reserve, wire or rim"),
    ("dulling may be decay beginning", "damage.toml", '"Loss of gloss without a visible net"', "may be the first stage of crizzling"),
    ("severity mixed size and danger", "condition_lists.toml", '"The piece is at stake"', "what each word means is said by the kind of damage"),
    ("nearly every uranium enamel is above background", "cautions.toml", "kept apart if above background", "decides how it is kept; not worn, not kept where people sit"),
    ("a bag holds radon in: Crockett and Gillmore 2018", "cautions.toml", "bagged and labelled", "aired store"),
    ("three different dangers in one line", "cautions.toml", "Mercury, cadmium, pesticides", 'title = "Cadmium"'),
    ("a coating does not trap salts, they gather beneath it", "cautions.toml", "past coatings failed and trapped salts", "damp and salts gathered beneath them"),
    ("gilding metal is copper with zinc, a copper alloy", "metal.toml", "or gilding metal called copper", "gilding metal is copper with zinc, a copper alloy"),
    ("a reverse bare by make is not one that was never seen", "object_lists.toml", '"The reverse is bare metal"', "The reverse is bare by make"),
    ("undone and done again are two things", "care_lists.toml", "Can be undone or done again", "Can be taken off again without loss of original"),
    ("Indian enamel is champlevé, on silver too, with lac behind", "technique.toml", "chiefly translucent colours on gold\"", "often with a lac core behind"),
    ("flakes in a bag rub, cling and are crushed", "object_lists.toml", '"Bagged and numbered"', "its own small rigid box or capsule"),
    ("flakes in a bag rub, cling and are crushed", "words.toml", "the dust: bagged", "each in its own small rigid box or capsule, numbered; no cotton wool, no loose bag"),
    ("vessels all of enamel have no metal to hold", "words.toml", "never the enamel or its edge", "sound enamel away from edges and numbered places, padded, without pressure"),
    ("an unframed plaque has only edges: it is slid, not lifted", "words.toml", "never a handle, rim or edge;", "slid onto a rigid padded tray, never pinched, never lifted by one edge"),
    ("air cannot be kept away: draughts can", "words.toml", "keep people and air away", "no draught, no door, no crowd"),
    ("safe as kept is not safe to travel", "words.toml", "said to be safe as kept", "travel is a separate decision"),
]  # fmt: skip


def written(file: str) -> str:
    path = WORDS if file == WORDS.name else folder() / file
    return path.read_text("utf-8")


@pytest.mark.parametrize(("finding", "file", "old", "instead"), SENTENCES)
def test_a_harmful_or_false_sentence_is_gone_and_what_is_right_stands(finding, file, old, instead):
    text = written(file)

    assert old not in text, finding
    assert instead in text, finding


def test_metals_that_melt_below_the_heat_of_firing_carry_paint_not_glass():
    """Firing needs 750 to 850 °C; tin melts at 232 °C, zinc at 420 °C (standard works; physical constants)."""
    assert {"pewter", "tin", "zinc"} <= set(vocabulary("metal").terms_where("paint_likely"))


def test_whole_glass_with_arsenic_is_no_bar_to_a_loan_and_loose_arsenic_is():
    """Lead arsenate in fired enamel: Coatings 10 (2020) 471; every Canton dish would stay at home."""
    out = vocabulary("danger_agent").terms_where("keeps_out")

    assert "arsenic" not in out
    assert {"arsenic_loose", "radium", "uranium", "tritium_promethium", "asbestos"} <= set(out)


def test_detached_is_the_piece_that_is_kept_not_the_one_that_lies_loose():
    """AAT 300131111, detached: Linked Conservation Data, alignments to AAT."""
    kinds = vocabulary("damage").term

    assert kinds["fragment_kept"].aat == "300131111"
    assert kinds["fragment_loose"].aat is None


def test_what_may_fall_is_secured_first():
    """A blister under whole glass and a hinge without its pin: common practice, no source."""
    secured = set(vocabulary("damage").terms_where("secure"))

    assert {"blind_lifting", "loose_joint", "tenting", "foil_blister", "weathering_crust"} <= secured


def test_acid_is_kept_from_every_object_and_nobody_tries_what_is_loose():
    of_all = {c["title"] for c in load_parameters("cautions")["caution"] if set(c) <= TEXT}

    assert "No case that gives off acid" in of_all
    assert "No tapping, pressing, brushing or blowing to find out what is loose" in of_all


TEXT = {"title", "keep", "because", "ask", "status", "source"}


def test_printed_enamel_is_painted_enamel_and_meenakari_champleve():
    """English boxes belong to the thin copper; Indian enamel on gold lies in cut cells (from memory)."""
    broader = {key: its.broader for key, its in vocabulary("technique").term.items()}

    assert broader["transfer_printed"] == "painted"
    assert broader["meenakari"] == "champleve"
    assert broader["ginbari"] == "basse_taille"


def test_a_flaw_of_firing_is_no_hazard_and_says_what_it_is_mistaken_for():
    flaws = {key: its for key, its in terms("damage", Damage).items() if its.flaw}

    assert {"pinhole", "fishscale", "firing_crack", "support_mark"} <= set(flaws)
    assert [key for key, its in flaws.items() if not its.no_hazard or not its.mistaken_for] == []


def test_no_sentence_that_tells_what_to_keep_away_gives_an_order_to_treat():
    """Cautions say what is kept away; they name no dose and no procedure."""
    orders = ("apply ", "dissolve", "soak", "rinse", "inject", "swab", "drops of", " ml ", " %")

    for caution in load_parameters("cautions")["caution"]:
        assert [word for word in orders if word in caution["keep"].lower()] == [], caution["title"]
