"""Catalogue prose read as terms, years, sizes and findings, by stated rules."""
