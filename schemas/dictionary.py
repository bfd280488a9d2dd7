"""Descriptions made from the declarations: data dictionary, JSON Schema, headings of the blank survey workbook."""

from collections.abc import Iterator, Mapping
from typing import Any

from schemas.fields import ForeignKey, FromVocabulary, Partial, Private, Unit
from schemas.tables import RECORDS, Column, TableSpec
from schemas.vocabularies import STATUS_WORDS, Vocabulary, vocabularies, vocabulary

SIGNS = ("looks_like", "mistaken_for", "signs_source")


def dictionary(records: Mapping[str, TableSpec] = RECORDS) -> dict[str, Any]:
    """Records with their columns, and vocabularies with their terms, as plain values."""
    return {
        "records": {name: _record(spec) for name, spec in records.items()},
        "vocabularies": {name: v.model_dump(exclude_none=True) for name, v in vocabularies().items()},
    }


def json_schema(spec: TableSpec) -> dict[str, Any]:
    """JSON Schema (2020-12) of one record, terms as enumerations."""
    schema = spec.model.model_json_schema()
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    for column in spec.marked(FromVocabulary):
        mark = column.mark(FromVocabulary)
        terms = list(vocabularies()[mark.vocabulary].term) if mark else []
        schema["properties"][column.name] |= {"x-vocabulary": mark.vocabulary if mark else "", "x-terms": terms}
    return schema


def workbook_headings(spec: TableSpec) -> list[str]:
    """Headings of the blank sheet of a record, in order."""
    return [c.name for c in spec.columns]


def dictionary_text(records: Mapping[str, TableSpec] = RECORDS) -> str:
    """The dictionary as Markdown."""
    parts = ["# Data dictionary", *(_record_text(spec) for spec in records.values())]
    parts += ["# Vocabularies", *(_vocabulary_text(v) for v in vocabularies().values())]
    return "\n\n".join(parts)


def _record(spec: TableSpec) -> dict[str, Any]:
    columns = [
        {"name": c.name, "type": type_words(c), "required": c.required, "text": c.text, **_marks(c)}
        for c in spec.columns
    ]
    return {"text": _first_line(spec), "key": list(spec.key), "columns": columns}


def _marks(column: Column) -> dict[str, str]:
    named: dict[type, tuple[str, str]] = {
        Unit: ("unit", "symbol"),
        FromVocabulary: ("vocabulary", "vocabulary"),
        ForeignKey: ("points_to", "record"),
        Private: ("private", "why"),
    }
    marks = {name: getattr(m, part) for kind, (name, part) in named.items() if (m := column.mark(kind)) is not None}
    return marks | ({"partial": "year, month or day"} if column.mark(Partial) else {})


def type_words(column: Column) -> str:
    """The type in a person's words."""
    words = {
        "String": "text",
        "Int64": "whole number",
        "Float64": "number",
        "Boolean": "yes or no",
        "Date": "day",
        "Datetime": "moment, UTC",
        "Decimal": "amount of money",
        "List": f"several {'terms' if column.mark(FromVocabulary) else 'numbers'}, joined by ;",
    }
    return "date, as far as known" if column.mark(Partial) else words[column.dtype.base_type().__name__]


def _record_text(spec: TableSpec) -> str:
    head = f"## {spec.name}\n\n{_first_line(spec)} Key: {', '.join(spec.key)}.\n"
    return head + "\n" + "\n".join(_column_lines(spec))


def _column_lines(spec: TableSpec) -> Iterator[str]:
    yield "| column | type | meaning |"
    yield "| --- | --- | --- |"
    for column in spec.columns:
        marks = _marks(column)
        remarks = [
            f"[{marks['unit']}]" if "unit" in marks else "",
            f"term of {marks['vocabulary']}" if "vocabulary" in marks else "",
            f"number of a {marks['points_to']}" if "points_to" in marks else "",
            f"stays in the house: {marks['private']}" if "private" in marks else "",
            "needed" if column.required else "",
        ]
        yield f"| {column.name} | {type_words(column)} | {'; '.join([column.text, *filter(None, remarks)])} |"


def _vocabulary_text(v: Vocabulary) -> str:
    lines = [f"## {v.name}", "", f"{v.label}: {v.definition} ({STATUS_WORDS[v.status]}; {v.source})", ""]
    lines += ["| term | label | definition | status | source | AAT |", "| --- | --- | --- | --- | --- | --- |"]
    lines += [
        f"| {k} | {e.label} | {e.definition} | {e.status} | {e.source} | {e.aat or ''} |" for k, e in v.term.items()
    ]
    return "\n".join([*lines, *_signs(v)])


def _signs(v: Vocabulary) -> Iterator[str]:
    """How each term is known, what it is taken for, and what each severity of it means; nothing where no term says."""
    speaking = [e for e in v.term.values() if e.get("looks_like")]
    if not speaking:
        return
    severities = vocabulary("severity").labels().values()
    yield from ("", f"| {v.label.lower()} | looks like | mistaken for | source | {' | '.join(severities)} |")
    yield f"| --- | --- | --- | --- |{' --- |' * len(severities)}"
    for e in speaking:
        anchors = e.get("anchors") or [""] * len(severities)
        yield f"| {' | '.join([e.label, *(e.get(n) or '' for n in SIGNS), *anchors])} |"


def _first_line(spec: TableSpec) -> str:
    return (spec.model.__doc__ or "").strip().split("\n")[0]
