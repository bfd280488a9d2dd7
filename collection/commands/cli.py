"""The outer edge of the command line: every error becomes a sentence and an exit code, here and nowhere else."""

import json
import os
import sys
import traceback

import click

from collection.commands import backup as backup_command
from collection.commands import dashboard as dashboard_command
from collection.commands import demo as demo_command
from collection.commands import dictionary as dictionary_command
from collection.commands import explain as explain_command
from collection.commands import export as export_command
from collection.commands import intake as intake_command
from collection.commands import journal as journal_command
from collection.commands import report as report_command
from collection.commands import triage as triage_command
from collection.commands import verify as verify_command
from schemas.errors import RegisterError, WrongUsage

INTERRUPTED = 130


class InOrder(click.Group):
    """Commands listed in the order of a person's day."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order they were added."""
        return list(self.commands)


@click.group(cls=InOrder, context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 110})
@click.version_option(package_name="enamel-register", prog_name="enamels")
def enamels() -> None:
    """A condition register for enamelled metalwork: what is damaged, what is getting worse, what to treat first.

    Start with `enamels demo`, or bring in your own catalogue with `enamels intake FILE`.
    """


for _command in (
    demo_command.demo,
    intake_command.intake,
    triage_command.triage,
    dashboard_command.dashboard,
    explain_command.explain,
    report_command.report,
    verify_command.verify,
    export_command.export,
    journal_command.journal,
    backup_command.backup,
    backup_command.restore,
    dictionary_command.dictionary,
):
    enamels.add_command(_command)


def main() -> None:
    """Run the command line and leave with its exit code."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command; returns 0 done, 1 a bug, 2 wrong usage, 3 input refused, 4 store unusable, 5 not there."""
    try:
        done = enamels.main(arguments, prog_name="enamels", standalone_mode=False)
        return done if isinstance(done, int) else 0
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except click.Abort:
        click.echo("Stopped.", err=True)
        return INTERRUPTED
    except click.UsageError as error:
        return _say(_usage(error), arguments)
    except RegisterError as error:
        return _say(error, arguments)
    except Exception as error:  # the edge: a bug still ends in a sentence
        return _say(_bug(error), arguments)


def _usage(error: click.UsageError) -> RegisterError:
    path = error.ctx.command_path if error.ctx else "enamels"
    return WrongUsage(path, error.format_message().rstrip("."), "", f"See `{path} --help`.")


def _bug(error: Exception) -> RegisterError:
    if os.environ.get("ENAMELS_TRACE"):
        traceback.print_exc()
    what = f"this is a fault of the register itself ({type(error).__name__}: {error})"
    return RegisterError("enamels", what, "", "Nothing was written. Please report it with ENAMELS_TRACE=1 set.")


def _say(error: RegisterError, arguments: list[str]) -> int:
    if "--json" in arguments:
        click.echo(json.dumps(error.as_dict(), ensure_ascii=False))
    click.echo(str(error), err=True)
    return error.code
