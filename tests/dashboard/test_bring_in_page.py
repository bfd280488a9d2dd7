"""The page that brings a file in, run from the entry script: what it is taken for, what would happen, doing it."""

import pytest

from collection.intake import pipeline
from collection.store import Store

CATALOGUE = b"""Inv. no.;Title;Material;Height;Colour
A.1;Bowl;Enamel on copper;12;blue
A.2;Tray;Champleve enamel on copper alloy;30;green
"""
CHECKS = b"""Inv. no.,Date,Surveyor,Condition,Remarks
A.1,03/04/2024,R. Alder,2,stable
A.2,05/06/2024,R. Alder,3,lifting at the rim
"""


@pytest.fixture
def chosen(page, store: Store):
    """The page with a file chosen, on an empty folder or a store."""

    def choose(name, data, app=None):
        app = app or page("bring_in", store)
        app.file_uploader[0].upload(name, data).run()
        assert not app.exception
        return app

    return choose


def field(app, label):
    return next(box for box in app.selectbox if label in box.label.replace("\\", ""))


def test_from_nothing_a_catalogue_is_chosen_shown_and_brought_in(chosen, store, said):
    app = chosen("catalogue.csv", CATALOGUE)
    print(said(app)); print([(b.label, b.value) for b in app.selectbox])
    field(app, "without a unit").set_value("cm").run()
    app.button(key="show").click().run()
    print(said(app))
    app.text_input(key="bring_in_by").set_value("Ida").run()
    app.button(key="bring").click().run()
    print(said(app))
    assert store.read()["object"]["height_mm"].to_list() == [120, 300]
    assert 0
