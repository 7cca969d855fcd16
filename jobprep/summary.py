"""The numbers of a run, out of its plans."""
