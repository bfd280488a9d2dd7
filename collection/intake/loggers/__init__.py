"""Files as loggers write them, read as climate readings: whatever the heads, columns, units and clocks of the maker."""
