"""Frames are held to the schema their function names, while tests run and only then."""

import polars as pl
import pytest

from collection.frames import Checking, returns

SCHEMA = pl.Schema({"object_id": pl.String, "loss": pl.Float64})


@returns(SCHEMA)
def answer(**columns):
    return pl.DataFrame(columns)


def test_a_frame_of_the_schema_is_passed_on():
    assert answer(object_id=["O"], loss=[0.1]).height == 1


@pytest.mark.parametrize(
    "columns", [{"object_id": ["O"]}, {"loss": [0.1], "object_id": ["O"]}, {"object_id": ["O"], "loss": [1]}]
)
def test_another_schema_is_an_error_that_names_the_function(columns):
    with pytest.raises(TypeError, match="answer returned another schema"):
        answer(**columns)


def test_a_museums_register_does_without(monkeypatch):
    monkeypatch.setattr(Checking, "on", False)

    assert answer(object_id=["O"]).height == 1
