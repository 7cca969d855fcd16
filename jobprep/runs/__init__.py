"""Runs as written: their record, its proof, and what can be done with it later."""
