"""Documents that leave the house: public records, sections, one value, PDF."""
