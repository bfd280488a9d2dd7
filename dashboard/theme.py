"""How it looks: the tones of both themes, shapes of the classes of attention, the chart theme, the CSS."""

from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from string import Template
from typing import Any

import altair as alt

from schemas.vocabularies import vocabulary

alt.theme.enable("none")  # sizes and colours are those of `drawn`
alt.data_transformers.disable_max_rows()  # a frame comes here counted: it has as many rows as it has bars or marks
SANS = "Source Sans, sans-serif"
# Widths [pixels] of columns whose text is long or comes first: a list shows number to first step at 1280.
COLUMNS = {
    "object_id": 84, "title": 110, "place": 104, "heed": 130, "reasons": 280, "first_step": 260, "words": 420,
    "to_do": 300, "together": 220, "steps": 170, "hazard": 400, "why": 220,
}  # fmt: skip
TABLE_ROWS, TABLE_HEIGHT = 10, 400  # a table of more rows scrolls; pixels
# In the order of the classes of attention: filled shapes for what cannot wait. Word, shape and tone say the same.
SHAPES = ("\u25a0", "\u25b2", "\u25ba", "\u25a3", "\u25cc", "\u25fb", "\u25cf", "\u25c6", "\u25cb", "\u2013")


@dataclass(frozen=True)
class Tones:
    """Colours of one theme. `attention` in the order of the classes; `unseen` is drawn with a broken edge besides;
    `causes` in the order of `charts.losses.WORDS`.
    """

    paper: str
    panel: str
    ink: str
    quiet: str
    line: str
    accent: str
    unseen: str
    causes: tuple[str, ...]
    alarm: str
    warm: str
    attention: tuple[str, ...]
    on_paper: str = "none"  # CSS filter that makes a picture of this theme one of paper


LIGHT = Tones(
    paper="#FCFAF5",
    panel="#F3EFE6",
    ink="#1B2430",
    quiet="#4D5763",
    line="#D9D3C5",
    accent="#1F3A93",
    unseen="#C3CEEE",
    causes=("#1F3A93", "#8A4B00", "#1F6066", "#8C1D18", "#E6EBFA"),
    alarm="#8C1D18",
    warm="#8A4B00",
    attention=(
        "#8C1D18",
        "#8A4B00",
        "#9A3412",
        "#1F6066",
        "#4D5763",
        "#5A5A52",
        "#1F3A93",
        "#5B3A86",
        "#1F6066",
        "#4D5763",
    ),  # fmt: skip
)
DARK = Tones(
    paper="#12161D",
    panel="#1A2029",
    ink="#ECE7DB",
    quiet="#B9B7AE",
    line="#333B47",
    accent="#9DB2FF",
    unseen="#34406B",
    causes=("#9DB2FF", "#F2B366", "#86CDD2", "#FF8374", "#262F4F"),
    alarm="#FF8374",
    warm="#F2B366",
    attention=(
        "#FF8374",
        "#F2B366",
        "#E7A3CF",
        "#86CDD2",
        "#B9B7AE",
        "#B9B7AE",
        "#9DB2FF",
        "#CDB0F5",
        "#86CDD2",
        "#B9B7AE",
    ),  # fmt: skip
    on_paper="invert(1) hue-rotate(180deg)",
)


def tones(kind: str | None) -> Tones:
    """Tones of the theme a person looks at, `light` or `dark`."""
    return DARK if kind == "dark" else LIGHT


def shape(attention: str) -> str:
    """The shape of a class of attention."""
    return SHAPES[_place(attention)]


def tone(attention: str, look: Tones) -> str:
    """The tone of a class of attention."""
    return look.attention[_place(attention)]


def marked(attention: str) -> str:
    """A class of attention as text: its shape, then its words."""
    return f"{shape(attention)} {vocabulary('attention').term[attention].label}"


def _place(attention: str) -> int:
    """A museum may have added classes: they share the last shape."""
    return min(list(vocabulary("attention").term).index(attention), len(SHAPES) - 1)


def drawn(chart: alt.Chart | alt.LayerChart | alt.FacetChart, look: Tones) -> Any:
    """The chart with type, space and colours of ours."""
    words: dict[str, Any] = {"labelColor": look.ink, "titleColor": look.quiet, "labelFontSize": 13, "titleFontSize": 12}
    axis = {
        **words,
        "gridColor": look.line,
        "domainColor": look.line,
        "tickColor": look.line,
        "titleFontWeight": "normal",
    }
    return chart.configure(  # all at once: Altair copies the whole chart for each call
        background="transparent",
        font=SANS,
        padding={"left": 0, "right": 8, "top": 4, "bottom": 0},
        view=alt.ViewConfig(stroke=None),
        axis=alt.AxisConfig(**axis, labelLimit=220),
        legend=alt.LegendConfig(**words, orient="top", title=None, symbolStrokeColor=look.accent, labelLimit=260),
        text=alt.MarkConfig(color=look.ink, fontSize=13),
    )


def css(look: Tones) -> str:
    """`style.css` in the tones of a theme, as an element of HTML."""
    return f"<style>{_style().substitute(asdict(look), print_ink=LIGHT.ink)}</style>"


@cache
def _style() -> Template:
    return Template(Path(__file__).with_name("style.css").read_text("utf-8"))
