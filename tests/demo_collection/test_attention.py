"""On the day of the demonstration every class of attention occurs, in numbers that a person can believe."""

import pytest

from schemas.vocabularies import vocabulary

BELIEVABLE = {
    "act_secure": (4, 12), "act_move": (3, 12), "before_loan": (1, 4), "made_safe": (5, 30), "not_checked": (225, 245),
    "left": (10, 40), "treat": (10, 30), "check_again": (30, 100), "monitor": (30, 140), "no_action": (130, 300),
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
    now = counts["act_secure"] + counts["act_move"]

    assert 8 <= now <= 20  # a morning's work
    assert counts["no_action"] == max(n for name, n in counts.items() if name != "not_checked")


@pytest.mark.parametrize(
    ("number", "wanted"),
    [("1947.109", "left"), ("1979.177", "act_secure")],
    ids=["Roman brooch", "uranium badge nobody measured"],
)
def test_awkward_things_stand_where_they_should(ranked, number, wanted):
    assert ranked.objects.filter(object_id=number)["attention"].to_list() == [wanted]
