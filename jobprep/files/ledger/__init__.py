"""The stock ledger: its file, found, read and changed, and the journal of its changes."""
