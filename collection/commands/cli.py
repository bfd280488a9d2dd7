"""The outer edge of the command line: every error becomes a sentence and an exit code, here and nowhere else."""

import ast
import gc
import logging
import sys
import traceback
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

import click

from schemas.errors import RegisterError, WrongUsage

INTERRUPTED = 130
# What is loaded at the start stays: searching it for garbage every 700 new objects takes a twentieth of an answer.
FEW_SEARCHES = 20_000
# In the order of a person's day; each is a function of that name in the module of the same name, or of the one named.
COMMANDS = {
    "demo": "demo",
    "intake": "intake",
    "triage": "triage",
    "dashboard": "dashboard",
    "explain": "explain",
    "rates": "rates",
    "backtest": "rates",
    "trends": "trends",
    "repairs": "trends",
    "travel": "travel",
    "report": "report",
    "cover": "papers",
    "card": "papers",
    "plan": "plan",
    "estimates": "estimates",
    "walk": "papers",
    "survey": "survey",
    "climate": "climate",
    "trustees": "year_page",
    "statement": "year_page",
    "verify": "verify",
    "export": "copies",
    "journal": "journal",
    "deliveries": "undo",
    "undo": "undo",
    "backup": "copies",
    "restore": "copies",
    "dictionary": "dictionary",
}
PACKAGE = "collection.commands"
log = logging.getLogger("enamels")


class Commands(click.Group):
    """Commands loaded when they are asked for: reading the whole register's code takes longer than most answers."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of a person's day."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command of this name, loaded; None where there is none."""
        if name not in COMMANDS:
            return None
        command: click.Command = getattr(import_module(f"{PACKAGE}.{COMMANDS[name]}"), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Each command with its first sentence, read from its file without loading it."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, summary(name)) for name in COMMANDS])


def summary(name: str) -> str:
    """The first sentence of a command's help."""
    spec = find_spec(f"{PACKAGE}.{COMMANDS[name]}")
    tree = ast.parse(Path(str(spec.origin if spec else "")).read_text("utf-8"))
    functions = [node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == name]
    first, _, _ = (ast.get_docstring(functions[0]) or "").replace("\n", " ").partition(". ")
    return first.rstrip(".") + "."


@click.group(cls=Commands, context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 110})
@click.version_option(package_name="enamel-register", prog_name="enamels")
def enamels() -> None:
    """A condition register for enamelled metalwork: what is damaged, what is getting worse, what to treat first.

    Start with `enamels demo`, or bring in your own catalogue with `enamels intake FILE`.
    """
    from schemas.agreement import require_agreement

    require_agreement()


def main() -> None:
    """Run the command line and leave with its exit code."""
    gc.set_threshold(FEW_SEARCHES)
    code = run(sys.argv[1:])
    gc.freeze()  # Python searches all there is for garbage once more before it ends, which takes another twentieth
    sys.exit(code)


def run(arguments: list[str]) -> int:
    """Run one command; returns 0 done, 1 a bug, 2 wrong usage, 3 input refused, 4 store unusable, 5 not there."""
    try:
        _log_to_standard_error()
        done = enamels.main(arguments, prog_name="enamels", standalone_mode=False)
        return done if isinstance(done, int) else 0
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped. What was written before stays written: `enamels journal` shows it.", err=True)
        return INTERRUPTED
    except click.UsageError as error:
        return _say(_usage(error), arguments)
    except RegisterError as error:
        return _say(error, arguments)
    except Exception as error:  # the edge: a bug still ends in a sentence
        return _say(_bug(error), arguments)


def _log_to_standard_error() -> None:
    """What happens at the edges, without the content of records, where ENAMELS_TRACE is set."""
    from collection.environment import Environment

    if Environment.read().trace:
        logging.basicConfig(level=logging.INFO, format="%(asctime)s %(name)s %(message)s")


def _usage(error: click.UsageError) -> RegisterError:
    path = error.ctx.command_path if error.ctx else "enamels"
    return WrongUsage(path, error.format_message().rstrip("."), "", f"See `{path} --help`.")


def _bug(error: Exception) -> RegisterError:
    if log.isEnabledFor(logging.INFO):
        traceback.print_exc()
    what = f"this is a fault of the register itself ({type(error).__name__}: {error})"
    to_do = "`enamels journal` shows whether anything was written. Please report it with ENAMELS_TRACE=1 set."
    return RegisterError("enamels", what, "", to_do)


def _say(error: RegisterError, arguments: list[str]) -> int:
    from collection.commands.output import json_text, visible

    if "--json" in arguments:
        click.echo(json_text(error.as_dict()))
    click.echo(visible(str(error)), err=True)
    return error.code
