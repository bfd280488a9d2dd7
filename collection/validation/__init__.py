"""Validation: rows of records against their declaration, each other and the register, whatever the way in."""
