"""`enamels dictionary`: every record, column, unit and term."""

import click

from collection.commands.options import json_option
from collection.commands.output import Answer, emit
from schemas.dictionary import dictionary as make
from schemas.dictionary import dictionary_text


@click.command(epilog="Example: enamels dictionary > dictionary.md")
@json_option
def dictionary(as_json: bool) -> None:
    """Print the data dictionary: what each column means, its unit, its terms and where they come from."""
    emit(Answer(dictionary_text(), make()), as_json=as_json)
