"""Surveys: how many to look at, which, what the answers say of the whole, and whether examiners agree."""
