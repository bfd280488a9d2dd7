"""What closes a report: the words it uses, each with what it means here, then its content code.

The code itself cannot stand in what it is made from, so the template sets it.
"""

from collections.abc import Iterator

from collection.documents.case import Case
from collection.documents.cells import Row
from collection.documents.document import Block
from collection.documents.sections.added_material import used_besides
from collection.documents.words import columns, label, title
from schemas.terms import Damage
from schemas.vocabularies import terms, vocabulary

# What is explained: vocabulary, and the column of a damage, repair or check that names its terms.
OF_DAMAGE = (("damage", "kind"), ("activity", "state"))
OF_REPAIR = (("repair_function", "function"), ("repair_material", "material"), ("stability", "state"))


def words_used(case: Case) -> Iterator[Block]:
    """Kinds, states, uses and materials that stand in the tables, by their labels; severities and stages by kind."""
    named = [
        *((name, row[column]) for row in (*case.damages, *case.flaws) for name, column in OF_DAMAGE if row.get(column)),
        *(
            (name, row[column])
            for row in (*case.repairs, *used_besides(case))
            for name, column in OF_REPAIR
            if row.get(column)
        ),
        *([("grade", case.check["grade"])] if case.check and case.check["grade"] else []),
    ]
    defined = {vocabulary(name).term[term].label: vocabulary(name).term[term].definition for name, term in named}
    defined |= dict(pair for row in case.damages for pair in (*_severity(row), *_stage(row)))
    rows = tuple({"term": label, "definition": defined[label]} for label in sorted(defined))
    yield Block("table", title("words_used"), rows, columns("term", "definition"))


def _severity(row: Row) -> Iterator[tuple[str, str]]:
    """*Severe (lifting)*: what the severity of a damage means for its kind, else for all."""
    known, kind = vocabulary("severity").term, terms("damage", Damage)[row["kind"]]
    if row["severity"] and kind.anchors:
        meant = kind.anchors[list(known).index(row["severity"])]
        yield f"{known[row['severity']].label} ({kind.label.split(',')[0].lower()})", meant[0].upper() + meant[1:]
    elif row["severity"]:
        yield known[row["severity"]].label, known[row["severity"]].definition


def _stage(row: Row) -> Iterator[tuple[str, str]]:
    """*Stage 3*: how a stage looks, of a kind that has stages in words."""
    stages = terms("damage", Damage)[row["kind"]].stages
    looks = list(vocabulary(stages).term.values()) if stages else []
    if row["stage"] and row["stage"] <= len(looks):
        yield f"Stage {row['stage']}", looks[row["stage"] - 1].definition


def code_block() -> Block:
    """The block that the template sets the code into: the last of every document."""
    return Block("code", title("code"), ({"label": label("code")},))


def code(_: Case) -> Iterator[Block]:
    """The same as a section of a report."""
    yield code_block()
