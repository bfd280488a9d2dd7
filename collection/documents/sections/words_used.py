"""The words of the vocabularies that a report uses, each once with what it means here."""

from collections.abc import Iterator

from collection.documents.case import Case
from collection.documents.document import Block
from collection.documents.words import columns, title
from schemas.vocabularies import vocabulary

# What is explained: vocabulary, and the column of a damage, repair or check that names its terms.
OF_DAMAGE = (("damage", "kind"), ("activity", "state"), ("severity", "severity"))
OF_REPAIR = (("repair_function", "function"), ("repair_material", "material"), ("stability", "state"))


def words_used(case: Case) -> Iterator[Block]:
    """Kinds, states, severities, uses and materials that stand in the tables, by their labels."""
    named = [
        *((name, row[column]) for row in (*case.damages, *case.flaws) for name, column in OF_DAMAGE if row.get(column)),
        *((name, row[column]) for row in case.repairs for name, column in OF_REPAIR if row.get(column)),
        *([("grade", case.check["grade"])] if case.check and case.check["grade"] else []),
    ]
    defined = {vocabulary(name).term[term].label: vocabulary(name).term[term].definition for name, term in named}
    rows = tuple({"term": label, "definition": defined[label]} for label in sorted(defined))
    yield Block("table", title("words_used"), rows, columns("term", "definition"))
