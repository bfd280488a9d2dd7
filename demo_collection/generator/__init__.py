"""The generator of the demonstration's files; not part of an installation."""
