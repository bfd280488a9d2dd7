"""What reaches a terminal: letters and line feeds, no sign that moves a cursor, rings a bell or turns the writing."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.commands import cli
from collection.commands.output import visible

# Unicode 15, general category Cc, and the bidirectional controls of UAX 9, section 2.
TURNING = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


@pytest.mark.parametrize(
    "sign", [*(s for s in map(chr, range(0x100)) if unicodedata.category(s) == "Cc"), *TURNING], ids=ascii
)
def test_a_control_character_but_the_line_feed_is_written_out(sign):
    shown = visible(f"a{sign}b")

    assert shown == "a\nb" if sign == "\n" else shown.isprintable()
    assert sign == "\n" or shown.encode().decode("unicode_escape") == f"a{sign}b"


@given(st.text(st.characters(categories=["L", "N", "P", "Zs"])))
def test_any_other_text_is_as_it_was(text):
    assert visible(text) == text


@pytest.mark.parametrize("command", [("intake", "c.csv", "--yes"), ("explain", "V\x1b]0;x\x07"), ("triage",)])
def test_a_title_that_is_an_escape_sequence_is_shown_not_obeyed(command, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("ENAMELS_STORE", str(tmp_path / "enamels.duckdb"))
    (tmp_path / "c.csv").write_text("object_id,title\nV.1,\x1b[2JBowl\u202e\n", "utf-8")
    cli.run(["intake", "c.csv", "--yes"])
    capsys.readouterr()

    cli.run(list(command))
    output = "".join(capsys.readouterr())

    assert output
    assert not set(output) & {"\x1b", "\x07", "\u202e"}
