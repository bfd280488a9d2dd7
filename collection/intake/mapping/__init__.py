"""Which heading is which column: suggested, written out, read back, remembered."""
