"""The condition report that leaves the house: public records of one object, a document, a PDF that holds its data."""
