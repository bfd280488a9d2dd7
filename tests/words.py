"""Words that people read, gathered, and the phrases that nobody should (words_not_used.toml)."""

import json
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from html import unescape
from pathlib import Path
from typing import Any

import polars as pl
from google.protobuf.message import Message
from streamlit.testing.v1 import AppTest

FILE = Path(__file__).parent / "words_not_used.toml"
# Fields of what Streamlit sends to the browser that nobody reads.
NOT_READ = {"id", "element_id", "url", "form_id", "page_script_hash", "page_name", "query_string", "script_run_id", "key",
            "data", "selection_mode", "theme", "spec", "columns", "user_key", "height", "editing_mode", "type", "icon",
            "fragment_id", "gap", "hash"}  # fmt: skip
TAGS = re.compile(r"<style>.*?</style>|<[^>]*>", re.DOTALL)
QUOTED = re.compile(r"'((?:[^'\\]|\\.)*)'")


@cache
def phrases() -> tuple[tuple[re.Pattern[str], str, tuple[str, ...]], ...]:
    """Pattern, what is said instead, and where the words may stand."""
    rows = tomllib.loads(FILE.read_text("utf-8"))["not"]
    return tuple((re.compile(rf"\b{r['phrase']}\b", re.IGNORECASE), r["but"], tuple(r.get("except", ()))) for r in rows)


@cache
def later() -> Mapping[str, tuple[str, ...]]:
    """By file, phrases that stand until the file is rewritten."""
    return {r["file"]: tuple(r["phrases"]) for r in tomllib.loads(FILE.read_text("utf-8"))["later"]}


def not_to_be_read(texts: Iterable[str], but: Iterable[str] = ()) -> list[str]:
    """Each place where a phrase stands that should not: words around it, and what is said instead."""
    caught: dict[str, None] = {}
    for text in dict.fromkeys(texts):
        for pattern, instead, exceptions in phrases():
            clean = text
            for words in (*exceptions, *but):
                clean = re.sub(rf"\b{re.escape(words)}\b", "", clean, flags=re.IGNORECASE)
            for match in pattern.finditer(clean):
                around = clean[max(0, match.start() - 50) : match.end() + 50].replace("\n", " ")
                caught[f"{match.group()!r} in '{around}': say {instead}"] = None
    return list(caught)


def of_page(app: AppTest) -> Iterator[str]:
    """Every word of a page: headings, sentences, tables, charts, labels, buttons, hints."""
    for block in (app.main, app.sidebar):
        for element in _elements(block):
            yield from _of_message(element.proto)
            if element.type in ("arrow_data_frame", "dataframe"):
                yield from of_frame(pl.from_pandas(element.value))


def _elements(block: Any) -> Iterator[Any]:
    for child in block.children.values():
        yield child
        if hasattr(child, "children"):
            yield from _elements(child)


def _of_message(message: Any) -> Iterator[str]:
    if not isinstance(message, Message):
        return
    for field, value in message.ListFields():
        if field.name == "spec":
            yield from of_chart(json.loads(value))
        if field.name in NOT_READ:
            continue
        for each in value if field.is_repeated else [value]:
            if isinstance(each, Message):
                yield from _of_message(each)
            elif isinstance(each, str):
                yield unescape(TAGS.sub(" ", each))


def of_chart(spec: Any) -> Iterator[str]:
    """Titles, legends, and the texts of its expressions."""
    if isinstance(spec, dict):
        for key, value in spec.items():
            if key in ("title", "text") and isinstance(value, str):
                yield value
            if key == "domain" and isinstance(value, list):
                yield from (str(v) for v in value)
            if key == "calculate":
                yield from QUOTED.findall(value)
            yield from of_chart(value)
    elif isinstance(spec, list):
        for value in spec:
            yield from of_chart(value)


def of_frame(frame: pl.DataFrame) -> Iterator[str]:
    """Headings and texts of a table."""
    yield from frame.columns
    for name, kind in frame.schema.items():
        if kind == pl.String:
            yield from frame[name].drop_nulls().unique()


def of_values(value: Any, read: frozenset[str], key: str = "") -> Iterator[str]:
    """Texts under the keys that people read, in a file of values."""
    if isinstance(value, dict):
        for name, its in value.items():
            yield from of_values(its, read, name)
    elif isinstance(value, list):
        for its in value:
            yield from of_values(its, read, key)
    elif isinstance(value, str) and (key in read or not read):
        yield value
