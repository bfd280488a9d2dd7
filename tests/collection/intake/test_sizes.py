"""Dimension texts become millimetres. Lines marked W are from The Walters Art Museum (CC0, api-thewalters-org commit
6027e27); the others are invented in the manner of museums of five countries.
"""

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.intake.languages import load
from collection.intake.text.dimensions import SCHEMA, read_sizes
from collection.intake.text.measures import IMPLIED_FIRST, NO_BASIS, STATED

ALL = load()


def read(text, unit=None):
    texts = pl.DataFrame(
        {"dimensions_text": [text], "size_unit": [unit]},
        schema_overrides={"dimensions_text": pl.String, "size_unit": pl.String},
    )
    return read_sizes(texts, ALL).row(0, named=True)


def mm(text, unit=None):
    row = read(text, unit)
    return tuple(row[f"{axis}_mm"] for axis in ("height", "width", "depth", "diameter"))


@pytest.mark.parametrize(
    ("text", "height", "width", "depth", "diameter"),
    [
        ("H. 4 1/2 in. (11.4 cm)", 114.0, None, None, None),
        ("11.4 × 8.2 × 3 cm", 114.0, 82.0, 30.0, None),
        ("Height: 12 cm, Width: 8,5 cm", 120.0, 85.0, None, None),
        ("H. 12,5 cm ; L. 8 cm ; Pr. 3 cm", 125.0, 80.0, 30.0, None),
        ("H. 12,5 cm ; l. 8 cm ; Pr. 3 cm", 125.0, 80.0, 30.0, None),
        ("Höhe 12,3 cm, Durchmesser 5 cm", 123.0, None, None, 50.0),
        ("hoogte 12 cm x breedte 8 cm", 120.0, 80.0, None, None),
        ("h 12 cm × d 5.5 cm", 120.0, None, None, None),
        ("Höjd 12 cm, bredd 8 cm", 120.0, 80.0, None, None),
        ("diam. 4 in.", None, None, None, 101.6),
        ("4 1/8 x 3 in. (10.5 x 7.6 cm)", 105.0, 76.0, None, None),
        ("overall: 10 x 5 cm", 100.0, 50.0, None, None),
        ("With frame H: 13 7/16 x W: 11 7/16 in.", 341.312, 290.512, None, None),
        ("lid H: 3 cm; H: 8 cm", 80.0, None, None, None),
        ("each: 12 x 5 cm", 120.0, 50.0, None, None),
        ("108 mm", None, None, None, None),
        ("H 108 mm", 108.0, None, None, None),
        ("1/2 in", None, None, None, None),
        ("height ½ in.", 12.7, None, None, None),
        ("H. 4½ in.", 114.3, None, None, None),
        ('5" x 3"', 127.0, 76.2, None, None),
        ("5'' x 3''", 127.0, 76.2, None, None),
        ("5″ × 3″", 127.0, 76.2, None, None),
        ("Diam. 12,3 cm", None, None, None, 123.0),
        ("H. 12,5 ; L. 8,2 cm", 125.0, None, None, None),
        ("H x B x T: 12 x 8 x 3 cm", 120.0, 80.0, 30.0, None),
        ("HxBxT 12 x 8 x 3 cm", 120.0, 80.0, 30.0, None),
        ("(H x W) 12 x 8 cm", 120.0, 80.0, None, None),
        ("12 cm (h) x 8 cm (w)", 120.0, 80.0, None, None),
        ("12 cm high x 8 cm wide", 120.0, 80.0, None, None),
        ("12 cm hoch, 8 cm breit", 120.0, 80.0, None, None),
        ("8 cm in diameter", None, None, None, 80.0),
        ("Dm. 5 cm; H. 3 cm", 30.0, None, None, 50.0),
        ("Ø 5,5 cm", None, None, None, 55.0),
        ("H 12 cm, Ø 5,5 cm", 120.0, None, None, 55.0),
        ("12,5 x 8 cm", 125.0, 80.0, None, None),
        ("125 x 80 mm", 125.0, 80.0, None, None),
        ("12.5x8x3cm", 125.0, 80.0, 30.0, None),
        ("H: 6ft 2in", 1879.6, None, None, None),
        ("Height: 1.2 m", 1200.0, None, None, None),
        ("B 8 cm, H 12 cm, T 3 cm", 120.0, 80.0, 30.0, None),
        ("Width: 8.2 cm; Height: 11 cm; Weight: 120 g", 110.0, 82.0, None, None),
        ("hoogte 12,5 cm, diameter 8 cm, gewicht 250 g", 125.0, None, None, 80.0),
        ("Höjd: 125 mm", 125.0, None, None, None),
        ("Haut. 12 cm", 120.0, None, None, None),
        ("Larg. 8 cm", None, 80.0, None, None),
        ("hauteur : 12,5 cm ; diamètre : 6 cm", 125.0, None, None, 60.0),
        ("12 x 8", None, None, None, None),
        ("H 12 x W 8", None, None, None, None),
        ("hoogte 12 cm, met lijst 15 cm", 120.0, None, None, None),
        ("h. 12 cm; h. with frame 15.2 cm", 152.0, None, None, None),
        ("10.5 cm x 7.6 cm", 105.0, 76.0, None, None),
        ("4 1/8 in. x 3 in. (10.48 cm x 7.62 cm)", 104.8, 76.2, None, None),
        ("Height: 4.5 inches, width: 3.25 inches", 114.3, 82.55, None, None),
        ("H: 1,250 mm", 1250.0, None, None, None),
        ("Höhe: 12,3 cm Breite: 8 cm Tiefe: 2 cm", 123.0, 80.0, 20.0, None),
        ("Gesamt: 12,3 x 8 x 2 cm", 123.0, 80.0, 20.0, None),
        ("Höhe 12,3 cm (mit Deckel), Dm. 8 cm", 123.0, None, None, 80.0),
        ("Plaque: H. 9 cm; W. 6.8 cm; Frame: H. 15 cm; W. 13 cm", 150.0, 130.0, None, None),
        ("Ht. 3 1/4 in.", 82.55, None, None, None),
        ("3-1/4 x 2-1/2 inches", 82.55, 63.5, None, None),
        ("8.5 cm", None, None, None, None),
        ("H.: 12 cm, L.: 8 cm", 120.0, None, None, None),
        ("L. 12 cm", None, None, None, None),
        ("H. 0,125 m ; L. 0,08 m", 125.0, None, None, None),
        ("diameter 5 cm, height 2 1/2 in", 63.5, None, None, 50.0),
        ("h. 12 cm, l. 8 cm, d. 3 cm", 120.0, None, None, None),
        ("Length 12 cm, width 3 cm", None, 30.0, None, None),
        ("Diam: 2-3 cm, H: 10-12 cm", 120.0, None, None, 30.0),
        ("H. 12 - 15 cm", 150.0, None, None, None),
        ("Höjd 12 cm, diam 8,5 cm", 120.0, None, None, 85.0),
        ("bredd 8 cm", None, 80.0, None, None),
        ("H with lock: 1 7/8 x W: 4 5/16 x D: 3 1/16 in. (4.8 x 11 x 7.7 cm)", 48.0, 110.0, 77.0, None),  # W
        ("7 1/2 x 3 1/8 in. (19 x 8 cm) (h. x diam.)", 190.0, None, None, 80.0),  # W
        (
            "1 3/4 x 2 3/16 x 6 1/2 x 1 9/16 in. (4.5 x 5.5 x 16.5 x 3.9 cm) (h. x w. x l. x diam.)",
            45.0,
            55.0,
            None,
            39.0,
        ),  # W
        (
            "With frame H: 13 7/16 x W: 11 7/16 in. (34.2 x 29 cm); "
            "Without frame H: 8 15/16 x W: 7 in. (22.7 x 17.8 cm)",
            342.0,
            290.0,
            None,
            None,
        ),  # W
        (
            "H: 8 1/8 × W: 5 13/16 in. (20.6 × 14.8 cm); Jar H: 7 1/8 × Diam: 5 13/16 in. (18.1 × 14.8 cm); "
            "Lid H: 7/8 × Diam 1 15/16 in. (2.2 × 4.9 cm)",
            206.0,
            148.0,
            None,
            148.0,
        ),  # W
        ("bezel:1 1/16 in. (2.7 cm);\r\nhoop: 11/16 in. (1.75 cm) (diam.)", None, None, None, 17.5),  # W
        (
            "Saucer (.1): H: 1 x Diam: 4 in. (2.5 x 10.2 cm)\r\n"
            "Demitasse Cup Holder (.2): H: 2 9/16 x W: 3 1/8 x D: 2 in. (6.5 x 8 x 5.1 cm)",
            65.0,
            80.0,
            51.0,
            102.0,
        ),  # W
        ("H: 2 1/2 x W: 1 13/16 x 1/4 in. (6.3 x 4.6 x 0.68 cm)", 63.0, 46.0, 6.8, None),  # W
        ("13.34 x 8.1 cm", 133.4, 81.0, None, None),  # W
    ],
)
def test_sizes_in_millimetres(text, height, width, depth, diameter):
    for got, wanted in zip(mm(text), (height, width, depth, diameter), strict=True):
        assert got == (None if wanted is None else pytest.approx(wanted, abs=0.01))


def test_the_largest_height_counts_with_the_sizes_given_beside_it():
    assert mm("Plaque: H. 9 cm; W. 6.8 cm; Frame: H. 15 cm; W. 13 cm")[0] == 150
    assert mm("Höhe 9 cm; Höhe mit Rahmen 15,2 cm")[0] == 152


def test_a_unit_nobody_wrote_is_never_guessed_and_a_mapping_may_name_one():
    assert mm("12 x 8") == (None, None, None, None)
    assert mm("12 x 8", "cm") == (120, 80, None, None)
    assert mm("12 x 8", "inches") == (pytest.approx(304.8), pytest.approx(203.2), None, None)
    assert mm("12 x 8 mm", "cm") == (12, 8, None, None)
    assert mm("12 x 8", "furlong") == (None, None, None, None)


def test_of_metric_and_inches_the_more_exact_counts():
    assert mm("H: 6 11/16 in. (17 cm)")[0] == 170
    assert mm("H: 7 5/16 in. (19 cm)")[0] == pytest.approx(185.7, abs=0.1)
    assert mm("H: 7 in. (17.9 cm)")[0] == 179


def test_an_initial_that_languages_read_differently_is_left_empty_unless_the_text_tells():
    """D is depth in English and diameter in German; beside B (Breite) it is German."""
    assert mm("D. 8 cm") == (None, None, None, None)
    assert mm("H: 12 x W: 8 x D: 3 cm")[2] == 30
    assert read_sizes(pl.DataFrame({"dimensions_text": ["H. 12,5 ; L. 8 cm"]}), load(only=["fr"]))["width_mm"][0] == 80


def test_the_basis_says_whether_the_height_was_labelled():
    assert read("H 12 cm")["size_basis"] == STATED
    assert read("12 x 8 cm")["size_basis"] == IMPLIED_FIRST
    assert read("12 cm")["size_basis"] == NO_BASIS
    assert read(None)["size_basis"] == NO_BASIS


def test_weights_and_counts_are_no_sizes():
    assert mm("H. 12 cm; 250 g; 3 pieces") == (120, None, None, None)


def test_rows_keep_their_order_and_schema():
    rows = read_sizes(pl.DataFrame({"dimensions_text": ["H 3 cm", None, "H 2 cm", "H 3 cm"]}), ALL)
    assert rows["height_mm"].to_list() == [30, None, 20, 30]
    assert dict(rows.schema) == dict(SCHEMA)


PIECES = st.lists(
    st.sampled_from(
        [
            "H:",
            "12",
            "x",
            "4",
            "1/2",
            "in.",
            "(11.4",
            "cm)",
            ";",
            "W",
            "D",
            "Diam:",
            "8,5",
            "\n",
            "×",
            "½",
            "mm",
            "Höhe",
            "with",
            "frame",
            "-",
            "/",
            "to",
            "'",
            '"',
            "1/0",
            "00",
            "L.",
            "Pr.",
            "ft",
            "(",
            ")",
            "1,250",
        ]
    )
)


@settings(deadline=None, max_examples=300)
@given(st.one_of(st.text(max_size=40), PIECES.map(" ".join), PIECES.map("".join)))
def test_no_text_makes_the_reader_fail(text):
    assert all(value is None or value > 0 for value in mm(text))


@settings(deadline=None, max_examples=50)
@given(st.integers(1, 9999), st.integers(1, 9999))
def test_what_is_written_is_read(height, width):
    assert mm(f"Height {height} mm, width {width} mm")[:2] == (height, width)
    assert mm(f"{height} x {width} mm")[:2] == (height, width)
    assert mm(f"Breite {width / 10:.1f} cm; Höhe {height / 10:.1f} cm".replace(".", ","))[:2] == (
        pytest.approx(height),
        pytest.approx(width),
    )
