"""Recording: what a person settles, corrects or writes down here, through the same rules as a file."""
