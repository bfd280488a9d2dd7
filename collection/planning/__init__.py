"""From the records of a collection to what a plan is worked out from, and from a plan back to records."""
