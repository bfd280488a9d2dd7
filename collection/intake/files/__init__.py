"""Files as they come: text tables and workbooks become sheets of cells as text."""
