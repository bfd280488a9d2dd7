"""The plan of treatments."""
