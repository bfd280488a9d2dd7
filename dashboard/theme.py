"""How it looks: the tones of both themes, shapes of the classes of attention, the chart theme, the CSS."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import altair as alt

from schemas.vocabularies import vocabulary

alt.theme.enable("none")  # sizes and colours are those of `drawn`
alt.data_transformers.disable_max_rows()  # a frame comes here counted: it has as many rows as it has bars or marks
SANS = "Source Sans, sans-serif"
CARDS = 6  # objects told in full above the table
TABLE_ROWS, TABLE_HEIGHT = 10, 400  # a table of more rows scrolls; pixels
# In the order of the classes of attention: filled shapes for what cannot wait. Word, shape and tone say the same.
SHAPES = ("\u25a0", "\u25b2", "\u25cc", "\u25fb", "\u25cf", "\u25c6", "\u25cb", "\u2013")


@dataclass(frozen=True)
class Tones:
    """Colours of one theme. `attention` in the order of the classes; `unseen` is drawn with a broken edge besides."""

    paper: str
    panel: str
    ink: str
    quiet: str
    line: str
    accent: str
    unseen: str
    alarm: str
    attention: tuple[str, ...]


LIGHT = Tones(
    paper="#FCFAF5",
    panel="#F3EFE6",
    ink="#1B2430",
    quiet="#4D5763",
    line="#D9D3C5",
    accent="#1F3A93",
    unseen="#C3CEEE",
    alarm="#8C1D18",
    attention=("#8C1D18", "#8A4B00", "#4D5763", "#5A5A52", "#1F3A93", "#5B3A86", "#1F6066", "#4D5763"),
)
DARK = Tones(
    paper="#12161D",
    panel="#1A2029",
    ink="#ECE7DB",
    quiet="#B9B7AE",
    line="#333B47",
    accent="#9DB2FF",
    unseen="#34406B",
    alarm="#FF8374",
    attention=("#FF8374", "#F2B366", "#B9B7AE", "#B9B7AE", "#9DB2FF", "#CDB0F5", "#86CDD2", "#B9B7AE"),
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
    words = {"labelColor": look.ink, "titleColor": look.quiet, "labelFontSize": 13, "titleFontSize": 12}
    axis = {
        **words,
        "gridColor": look.line,
        "domainColor": look.line,
        "tickColor": look.line,
        "titleFontWeight": "normal",
    }
    return (
        chart.configure(background="transparent", font=SANS, padding={"left": 0, "right": 8, "top": 4, "bottom": 0})
        .configure_view(stroke=None)
        .configure_axis(**axis, labelLimit=220)
        .configure_legend(**words, orient="top", title=None, symbolStrokeColor=look.accent, labelLimit=260)
        .configure_text(color=look.ink, fontSize=13)
    )


def css(look: Tones) -> str:
    """Space, tabular figures, and the few pieces that Streamlit has no element for."""
    rules: Mapping[str, str] = {
        ".stApp": "font-variant-numeric: tabular-nums lining-nums;",
        ".stMainBlockContainer": "max-width: 62rem; padding-top: 3.2rem; padding-bottom: 6rem;",
        ".stMainBlockContainer h1": "font-weight: 500; letter-spacing: -0.01em; padding-bottom: 0;",
        ".stMainBlockContainer h2": "font-weight: 500; font-size: 1.35rem; padding: 1.6rem 0 0.2rem; margin: 0;",
        ".said": f"color: {look.quiet}; margin: 0; max-width: 46rem; overflow-wrap: anywhere;",
        ".answer": "font-family: 'Source Serif', serif; font-size: 1.45rem; line-height: 1.35; margin: 0.2rem 0 0.4rem;"
        " max-width: 46rem; overflow-wrap: anywhere;",
        ".warn": f"border-left: 3px solid {look.alarm}; padding-left: 0.8rem; margin: 0; overflow-wrap: anywhere;",
        ".classes": "display: flex; flex-wrap: wrap; gap: 0.3rem 1.6rem; list-style: none;"
        " margin: 0.4rem 0 !important; padding: 0 !important;",
        ".classes li": "margin: 0 !important;",
        ".classes b": "font-weight: 600; margin-right: 0.3rem;",
        ".item": f"border-bottom: 1px solid {look.line}; padding: 0 0 0.8rem; margin: -0.6rem 0 0;"
        " overflow-wrap: anywhere;",
        ".item p": "margin: 0.1rem 0;",
        ".item .first": "font-weight: 600;",
        ".quiet": f"color: {look.quiet};",
        "dl.facts": "display: grid; grid-template-columns: minmax(7rem, 12rem) 1fr; gap: 0.4rem 1.2rem;"
        " margin: 0 !important; padding: 0;",
        "dl.facts dt": f"color: {look.quiet}; font-weight: 400; margin: 0 !important; padding: 0 !important;",
        "dl.facts dd": "margin: 0 !important; padding: 0 !important; overflow-wrap: anywhere;",
        "[data-testid='stCaptionContainer'] p": f"color: {look.quiet}; font-size: 0.9rem;",
        "[data-testid='stCaptionContainer']": "opacity: 1;",
        "a:focus-visible, button:focus-visible": f"outline: 2px solid {look.accent}; outline-offset: 2px;",
        ".stMainBlockContainer [data-testid='stPageLink'] a": "padding-left: 0; padding-right: 0; margin-left: 0;",
        ".stMainBlockContainer [data-testid='stPageLink'] a p": f"color: {look.accent}; text-decoration: underline;"
        " text-underline-offset: 0.2em; overflow-wrap: anywhere; white-space: normal; font-size: 1rem;",
    }
    said = "".join(f"{where} {{ {what} }} " for where, what in rules.items())
    phone = (
        "@media (max-width: 640px) { dl.facts { grid-template-columns: 1fr; }"
        " dl.facts dd { margin-bottom: 0.6rem !important; }"
        f" dl.facts dt {{ font-weight: 600 !important; color: {look.ink} !important; }}"
        " dl.facts { row-gap: 0 !important; }"
        " .answer { font-size: 1.2rem; } .stMainBlockContainer { padding-top: 3.4rem; } }"
    )
    return f"<style>{said}{phone}{_paper(look)}</style>"


def _paper(look: Tones) -> str:
    """The printed page: no controls, what belongs together on one sheet, dark ink whatever the screen's theme."""
    rules = {
        "[data-testid='stSidebar'], header, button, [class*='_figures_open']": "display: none !important;",
        "html, body, .stApp, [data-testid='stMain']": "background-color: #FFFFFF !important;",
        ".stMainBlockContainer": "padding-top: 0;",
        "[data-testid='stElementContainer']:has(:is(h2, [data-testid='stPageLink']))": "break-after: avoid;"
        " break-inside: avoid;",
        ".item, [data-testid='stVegaLiteChart'], dl.facts dd": "break-inside: avoid;",
    }
    if look is DARK:
        rules |= {".stApp *": f"color: {LIGHT.ink} !important;", ".vega-embed text": f"fill: {LIGHT.ink} !important;"}
    return f"@media print {{ {' '.join(f'{where} {{ {what} }}' for where, what in rules.items())} }}"
