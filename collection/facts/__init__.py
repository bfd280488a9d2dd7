"""What rules look at: hazards with the properties of their terms, and the words for them."""
