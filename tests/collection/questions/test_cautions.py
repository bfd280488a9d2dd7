"""Cautions follow what the object is, how it was mended and what its glass does, not only damage and dangers."""

import pytest

from collection.questions.cautions import cautions, of_danger
from collection.questions.object_record import kinds
from tests.collection.risk.builders import register, triaged

NOTHING = {"object_id": "O"}


def own(repair=None, damage=None, **of_object):
    """Titles of the cautions that are told of this object for a reason of its own."""
    collection = register(
        object=[NOTHING | of_object],
        repair=[{"repair_id": "R", "object_id": "O", "part": "whole", "function": "fills"} | repair] if repair else [],
        damage=[{"damage_id": "D", "object_id": "O", "part": "whole"} | damage] if damage else [],
    )
    return set(cautions(kinds(triaged(collection), "O"), own_only=True)["caution"])


@pytest.mark.parametrize(
    ("given", "caution"),
    [
        ({"technique": ["shotai"]}, "Nothing presses on it, no lamp behind"),
        ({"technique": ["paillon"]}, "Foil under the glass"),
        ({"technique": ["meenakari"]}, "Lac or pitch behind"),
        ({"technique": ["musen"]}, "Cracks run"),
        ({"glass_stability": "known_unstable"}, "No water as routine, no drying out, no sealing coat"),
        ({"glass_stability": "suspected"}, "Alkaline film, salts"),
        ({"repair": {"material": "fish_glue"}}, "Glue or plaster that takes up water"),
        ({"repair": {"material": "soft_solder"}}, "Lead"),
        ({"repair": {"material": "nitro_colour"}}, "Cellulose nitrate"),
        ({"repair": {"material": "microcrystalline_wax"}}, "A repair that softens"),
        ({"repair": {"material": "watercolour"}}, "Fills and retouches fade"),
        ({"damage": {"kind": "tenting"}}, "Moved only on its own tray"),
    ],
    ids=str,
)
def test_what_it_is_made_of_and_mended_with_calls_for_its_caution(given, caution):
    assert caution in own(**given)


def test_a_sound_object_has_no_caution_of_its_own_and_those_of_all():
    of_all = cautions({}, own_only=False)["caution"].to_list()

    assert own(technique=["champleve"], glass_stability="no_sign") == set()
    assert of_all[0] == "No tapping, pressing, brushing or blowing to find out what is loose"
    assert "Cracks run" not in of_all


def test_agents_that_were_one_line_have_each_their_own():
    assert [len(of_danger(agent)) for agent in ("mercury", "cadmium", "pesticides", "arsenic", "arsenic_loose")] == [
        1
    ] * 5
    assert len({str(of_danger(agent)) for agent in ("mercury", "cadmium", "pesticides")}) == 3
