"""A list of checks headed in the register's own names is one, whatever it lacks, and leaves the catalogue alone."""

import pytest

LIST = ("check_id,object_id,checked_on,grade", "K1,A,2024-05-06,fair")


@pytest.fixture
def catalogue(bring_in, write_csv):
    bring_in(write_csv("c.csv", "object_id,title", "A,Box"))


def test_it_is_no_catalogue_and_nobody_needs_to_say_so(catalogue, bring_in, write_csv, store):
    before = store.read()["object"]
    bring_in(write_csv("k.csv", *LIST))

    assert store.read()["object"].equals(before)
    assert store.read()["condition_check"].select("check_id", "grade").rows() == [("K1", "fair")]


def test_how_closely_somebody_looked_is_the_least_in_person_where_it_does_not_say(
    catalogue, bring_in, write_csv, store
):
    bring_in(write_csv("k.csv", *LIST), record="condition_check")

    assert store.read()["condition_check"]["look"].to_list() == ["sweep"]


def test_a_later_list_that_does_not_say_leaves_how_closely_somebody_looked(catalogue, bring_in, write_csv, store):
    bring_in(write_csv("k.csv", f"{LIST[0]},look", f"{LIST[1]},examination"))
    bring_in(write_csv("k2.csv", LIST[0], "K1,A,2024-05-06,good"))

    assert store.read()["condition_check"].select("grade", "look").rows() == [("good", "examination")]
