"""The page of deliveries, run from the entry script: what came in, what it changed, and taking it back."""

from collection.store import Store
from tests.collection.questions.test_deliveries import LINES, MENDED


def texts(app):
    return " ".join(h.proto.body for h in app.main.get("html"))


def test_on_the_demonstration_every_delivery_is_listed(page, demonstration, answer):
    app = page("deliveries")

    assert answer(app).count(" deliveries came in, the last ") == 1
    assert app.dataframe[-1].value.shape[0] == demonstration.deliveries().height


def test_the_last_one_is_shown_and_undone_when_a_person_gives_a_name(page, store: Store, bring_in, write_csv, said):
    bring_in(write_csv("first.csv", *LINES))
    bring_in(write_csv("second.csv", *MENDED))
    app = page("deliveries", store)
    assert "It gave " in texts(app)
    assert "Bowl \N{RIGHTWARDS ARROW} Dish" in app.dataframe[0].value["For example"].to_list()[-1]

    app.button(key="undo").click().run()
    assert "First give your name." in said(app)
    app.text_input(key="undo_by").set_value("Ida").run()
    app.button(key="undo").click().run()

    assert "D2 is undone: left the register: " in said(app)
    assert store.read()["object"]["title"].to_list() == ["Bowl", "Tray"]
    assert app.dataframe[-1].value["Does it stand?"].to_list()[1] == "stands"


def test_a_delivery_that_there_is_none_of_is_said(page, said):
    assert "The address asks for delivery 'D999'" in said(page("deliveries", delivery_id="D999")).replace("&#x27;", "'")


def test_what_was_not_read_of_a_delivery_can_be_looked_up_later(page, store: Store, bring_in, write_csv):
    bring_in(write_csv("c.csv", "Accession No,Title,Technique,Dimensions,Shelf mark", "1,Bowl,Cloisonné,12 x 9,Q7"))
    app = page("deliveries", store)

    assert "Size, as written: 1 cell" in texts(app)
    assert "12 x 9" in texts(app)
    assert "Headings not used, c.csv" in texts(app)
    assert "Shelf mark" in texts(app)


def test_a_delivery_of_which_all_was_read_says_nothing_of_that(page, store: Store, bring_in, write_csv):
    bring_in(write_csv("c.csv", "Accession No,Title,Technique", "1,Bowl,Cloisonné"))

    assert "What was not read" not in texts(page("deliveries", store))
