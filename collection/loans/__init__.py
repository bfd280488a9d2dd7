"""Loans: whether an object may travel, and why not."""
