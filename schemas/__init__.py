"""What is true of the data: records, vocabularies, the errors; imports nothing of ours from outside this folder."""
