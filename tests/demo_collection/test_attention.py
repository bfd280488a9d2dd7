"""On the day of the demonstration every class of attention occurs, in numbers that a person can believe."""

import pytest

from schemas.vocabularies import vocabulary

BELIEVABLE = {
    "now_secure": (8, 25), "now_better_place": (8, 25), "not_yet_seen": (225, 245), "left_on_record": (10, 40),
    "this_plan": (20, 60), "look_again": (50, 120), "watch": (30, 110), "in_order": (130, 300),
}  # fmt: skip


@pytest.fixture(scope="module")
def counts(ranked):
    return dict(ranked.by_class.iter_rows())


def test_every_object_has_one_class_and_every_class_occurs(counts):
    assert sum(counts.values()) == 640
    assert set(counts) == set(vocabulary("attention").term) == set(BELIEVABLE)
    assert all(counts.values())


@pytest.mark.parametrize("name", BELIEVABLE)
def test_the_numbers_can_be_believed(counts, name):
    least, most = BELIEVABLE[name]

    assert least <= counts[name] <= most


def test_some_need_attention_now_and_most_of_the_seen_do_not(counts):
    now = counts["now_secure"] + counts["now_better_place"]

    assert 20 <= now <= 45
    assert counts["in_order"] == max(n for name, n in counts.items() if name != "not_yet_seen")


@pytest.mark.parametrize(
    ("number", "wanted"),
    [("1947.109", "left_on_record"), ("1979.177", "now_secure")],
    ids=["Roman brooch", "uranium badge nobody measured"],
)
def test_awkward_things_stand_where_they_should(ranked, number, wanted):
    assert ranked.objects.filter(object_id=number)["attention"].to_list() == [wanted]
