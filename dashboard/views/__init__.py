"""Pages: sentence, picture, table, download; what they show is worked out elsewhere."""
