"""Sections of documents: functions from public records to blocks."""
