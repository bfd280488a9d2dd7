"""What people read on the pages: none of the phrases that should not be (tests/words_not_used.toml)."""

import pytest

from dashboard import pages
from tests.words import not_to_be_read, of_page


@pytest.mark.parametrize("name", [its.address for its in pages.PAGES])
def test_a_page(page, name):
    texts = list(of_page(page(name, unfolded=True)))

    assert len(texts) > 20
    assert not_to_be_read(texts) == []


def test_an_object_of_each_class(page, found):
    for number in found.objects.unique("attention", keep="first", maintain_order=True)["object_id"]:
        texts = list(of_page(page("object", unfolded=True, object_id=number)))

        assert any(number in t for t in texts)
        assert not_to_be_read(texts) == []


def test_what_is_said_of_an_empty_store(page, store):
    assert not_to_be_read(of_page(page("storeroom", store))) == []
