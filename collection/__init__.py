"""What is done with the records: intake, store, risk, questions, commands. Imports `schemas`, never `dashboard`."""
