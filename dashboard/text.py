"""Text from records on its way to the page. It is shown, never obeyed: Markdown, `$`, directives, HTML stay text."""

import html
import re
from collections.abc import Iterable

JOINER = "\N{WORD JOINER}"  # has no width: parts what Streamlit would find again after Markdown was read
PUNCTUATION = re.compile(r"([!-/:-@\[-`{-~])")
MARKS = re.compile(r"[^\w\s.,;?%°'\u2018\u2019/-]|_")
# Found by plug-ins in the finished text, where a backslash no longer helps: :emoji:, :material/x:, www., a@b, arrows.
LINKED_LATER = re.compile(r"(:|@|www|<-|->|--|>=|<=|~=)", re.IGNORECASE)


def escaped(text: str) -> str:
    """Record text for one of Streamlit's Markdown elements: a title, a label, a link's words. On one line."""
    parted = LINKED_LATER.sub(lambda match: JOINER.join((*match.group(1), "")), " ".join(text.split()))
    return PUNCTUATION.sub(r"\\\1", parted)


def spoken(text: str) -> str:
    """Record text as the name of a field whose words stand beside it: what no Markdown obeys, for who listens to it."""
    return " ".join(MARKS.sub(" ", LINKED_LATER.sub(" ", text)).split())


def paragraph(text: str, kind: str = "said") -> str:
    """Record text or a sentence made with it as a paragraph of HTML; `kind` is a class of `theme.css`."""
    return f'<p class="{html.escape(kind)}">{html.escape(text)}</p>'


def heading(words: str, level: int = 2) -> str:
    """What stands above a part of a page, or above a part of that, as HTML."""
    return f"<h{level}>{html.escape(words)}</h{level}>"


def file_name(*words: str, ending: str) -> str:
    """A name for a file: letters, digits, hyphens and _ only."""
    return f"{re.sub(r'[^A-Za-z0-9-]+', '_', '_'.join(words)).strip('_')}.{ending}"


def sentence(words: str) -> str:
    """Words as a sentence: a capital, a full stop."""
    return f"{words[:1].upper()}{words[1:]}."


def facts(pairs: list[tuple[str, str]]) -> str:
    """Names and values, one below the other, as HTML."""
    return f'<dl class="facts">{"".join(f"<dt>{html.escape(k)}</dt><dd>{html.escape(v)}</dd>" for k, v in pairs)}</dl>'


def rows(lines: Iterable[tuple[str, str, str, str, str]]) -> str:
    """Objects one below the other as HTML, each a link as wide as the page: address, number, title, place, why."""
    return f'<div class="rows">{"".join(_row(*line) for line in lines)}</div>'


def _row(address: str, number: str, title: str, place: str, why: str) -> str:
    cells = ((number, "number"), (title, ""), (place, "quiet"), (why, ""))
    spans = "".join(f'<span class="{kind}">{html.escape(cell)}</span>' for cell, kind in cells)
    return f'<a href="{html.escape(address)}" target="_self">{spans}</a>'


def unfolding(words: str, inside: str) -> str:
    """What unfolds at a click: words, then HTML."""
    return f"<details><summary>{html.escape(words)}</summary>{inside}</details>"


def classes(counts: list[tuple[int, str, str]]) -> str:
    """How many objects are in each class of attention: number, words with shape, tone."""
    each = (f'<li><b>{n:,}</b><span style="color: {html.escape(t)}">{html.escape(w)}</span></li>' for n, w, t in counts)
    return f'<ul class="classes">{"".join(each)}</ul>'
