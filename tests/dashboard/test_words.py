"""What people read on the pages: none of the phrases that should not be (tests/words_not_used.toml)."""

import pytest
from streamlit.testing.v1 import AppTest

from dashboard import pages
from tests.words import not_to_be_read, of_page


def unfolded(app: AppTest) -> AppTest:
    """The page with everything that unfolds unfolded."""
    for fold in app.get("expander"):
        app.session_state[fold.proto.id.split("-", 2)[2]] = True  # its key stands last in its number
    return app.run()


@pytest.mark.parametrize("name", [its.address for its in pages.PAGES])
def test_a_page(page, name):
    texts = list(of_page(unfolded(page(name))))

    assert len(texts) > 20
    assert not_to_be_read(texts) == []


def test_an_object_of_each_class(page, found):
    for number in found.objects.unique("attention", keep="first", maintain_order=True)["object_id"]:
        texts = list(of_page(unfolded(page("object", object_id=number))))

        assert any(number in t for t in texts)
        assert not_to_be_read(texts) == []


def test_what_is_said_of_an_empty_store(page, store):
    assert not_to_be_read(of_page(page("storeroom", store))) == []
