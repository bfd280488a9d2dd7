"""Contrast by the formula of WCAG 2.x in both themes; classes of attention told apart by shape, and by tone without red or green."""

import tomllib
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from dashboard import theme
from schemas.vocabularies import vocabulary

CONFIG = Path(__file__).parents[2] / "dashboard" / ".streamlit" / "config.toml"
BOTH = pytest.mark.parametrize("look", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
TEXT, GRAPHIC = 4.5, 3.0  # WCAG 2.x, 1.4.3 and 1.4.11
# Machado, Oliveira and Fernandes 2009, severity 1.0, for linear RGB.
SEEN_BY = {
    "all": np.eye(3),
    "without red": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "without green": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "without blue": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}


def linear(colour: str) -> np.ndarray:
    part = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    high, low = sorted((float(linear(c) @ [0.2126, 0.7152, 0.0722]) for c in (one, other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    xyz = to_xyz @ np.clip(rgb, 0, 1) / [0.9505, 1.0, 1.089]
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_contrast_of_black_on_white_is_21():
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#777777", "#FFFFFF") == pytest.approx(4.48, abs=0.01)


@BOTH
def test_all_text_can_be_read(look):
    words = [look.ink, look.quiet, look.accent, look.alarm, *look.attention]

    assert min(contrast(word, back) for word in words for back in (look.paper, look.panel)) >= TEXT


@BOTH
def test_marks_stand_out_and_the_unseen_has_an_edge_that_does(look):
    assert contrast(look.accent, look.paper) >= GRAPHIC
    assert contrast(look.accent, look.unseen) >= GRAPHIC


@BOTH
def test_what_cannot_wait_differs_from_what_is_planned_for_every_eye(look):
    terms = vocabulary("attention")
    now = [theme.tone(t, look) for t in terms.terms_where("now")]
    plain = [look.accent, look.quiet]

    for matrix in SEEN_BY.values():
        for one in now:
            for other in plain:
                apart = np.linalg.norm(lab(matrix @ linear(one)) - lab(matrix @ linear(other)))
                assert apart >= 12, (one, other)


def test_each_class_has_a_shape_of_its_own():
    shapes = [theme.shape(t) for t in vocabulary("attention").term]

    assert all(a != b for a, b in combinations(shapes, 2))


def test_every_class_is_marked_with_its_words():
    assert all(entry.label in theme.marked(term) for term, entry in vocabulary("attention").term.items())


@pytest.mark.parametrize("name", ["light", "dark"])
def test_streamlit_and_the_charts_use_the_same_tones(name):
    given, look = tomllib.loads(CONFIG.read_text("utf-8"))["theme"][name], theme.tones(name)

    assert (given["backgroundColor"], given["secondaryBackgroundColor"]) == (look.paper, look.panel)
    assert (given["textColor"], given["primaryColor"], given["linkColor"]) == (look.ink, look.accent, look.accent)
    assert contrast(given["borderColor"], look.paper) >= GRAPHIC  # edges of fields


def test_nothing_is_fetched_from_elsewhere():
    assert "http" not in CONFIG.read_text("utf-8")
