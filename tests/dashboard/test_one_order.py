"""The page and the command list the same objects in the same order."""

import json

import pytest

from collection.commands import cli


@pytest.mark.parametrize("filters", [{}, {"location_id": "L2"}, {"attention": "act_secure"}])
def test_the_storeroom_and_triage_list_the_same(page, demonstration, capsys, filters):
    options = [word for name, value in filters.items() for word in (f"--{name.removesuffix('_id')}", value)]
    assert cli.run(["triage", "--json", "--store", str(demonstration.path), *options]) == 0
    listed = [row["object_id"] for row in json.loads(capsys.readouterr().out)["objects"]]

    shown = page(**filters).dataframe[-1].value["Number"].to_list()

    assert listed
    assert shown == listed
