"""The command line `enamels`: one small module a command, which parses, calls one function, and answers."""

from collection.commands.cli import main

__all__ = ["main"]
