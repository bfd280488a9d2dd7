"""Every command alike: words for people, one JSON document for machines, an exit code for scripts, never a traceback."""

import json
import math
import re
import shlex

import click
import pytest

from collection.commands import cli as edge
from collection.commands.output import json_text
from schemas.errors import NotFound, RegisterError, SourceRefused, StoreUnusable, WrongUsage

# rates: see learning/test_choosing.py; plan: recording/test_plans.py; statement: recording/test_statements.py
WRITING = {"intake", "undo", "restore", "demo", "rates", "plan", "statement", "survey"}
READING = {
    "triage", "dashboard", "explain", "backtest", "trends", "repairs", "travel", "report", "cover", "card", "estimates", "walk",
    "climate", "trustees", "verify", "export", "journal", "deliveries", "backup", "dictionary",
}  # fmt: skip


def test_every_command_says_how_it_is_used(enamels):
    for name in edge.COMMANDS:
        code, out, _ = enamels(name, "--help")
        assert code == 0
        assert f"Usage: enamels {name} " in out


CODES = [
    (("triage",), StoreUnusable.code),
    (("intake", "none.csv", "--yes"), SourceRefused.code),
    (("intake",), WrongUsage.code),
    (("frobnicate",), WrongUsage.code),
    (("triage", "--attention", "red"), WrongUsage.code),
    (("restore", "none.duckdb"), NotFound.code),
]


@pytest.mark.parametrize(("arguments", "code"), CODES, ids=[" ".join(a) for a, _ in CODES])
def test_exit_codes_and_the_error_as_one_document(arguments, code, enamels):
    found, out, err = enamels(*arguments, "--json")

    assert found == code
    assert "Traceback" not in err
    assert set(json.loads(out)["error"]) == {"code", "where", "what", "expected", "to_do"}


def test_a_bug_is_a_sentence_too(enamels, monkeypatch):
    @click.command()
    def broken() -> None:
        raise ZeroDivisionError("a bug")

    monkeypatch.setattr(edge.enamels, "get_command", lambda ctx, name: broken)

    code, _, err = enamels("broken")

    assert code == RegisterError.code
    assert "fault of the register itself" in err
    assert "Traceback" not in err


def test_of_each_command_it_is_on_record_whether_it_writes():
    assert not WRITING & READING
    unsaid = set(edge.COMMANDS) ^ (WRITING | READING)
    assert not unsaid, (
        "enter it in READING of this file (with store_option) or in WRITING (with written_store_option), or take it out there"
    )


def examples(command: click.Command) -> list[str]:
    """The command lines under the help of a command and of those below it."""
    below = command.commands.values() if isinstance(command, click.Group) else ()
    lines = re.findall(r"enamels ((?:'[^']*'|\"[^\"]*\"|[^;\n>'\"])+)", command.epilog or "")
    return [re.split(r"\s{3,}", line)[0] for line in lines] + [line for sub in below for line in examples(sub)]


@pytest.mark.parametrize("name", edge.COMMANDS)
def test_the_examples_under_the_help_of_a_command_are_understood(name):
    command = edge.enamels.get_command(click.Context(edge.enamels), name)
    lines = examples(command)

    assert lines, f'give {name} an example of its use: @click.command(epilog="Example: enamels {name} ...")'
    for line in lines:
        first, *words = shlex.split(line)
        assert first == name
        its = command
        while isinstance(its, click.Group):
            its = its.commands[words.pop(0)]
        its.make_context(name, words)  # a click.UsageError names what is not understood


def test_no_nan_reaches_json():
    assert json_text({"a": math.nan, "b": [math.inf, 1.0]}) == '{"a":null,"b":[null,1.0]}'
