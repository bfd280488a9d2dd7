"""Named rules: over one row, over several records, and over a whole delivery."""
