"""Pages for people: the job sheet."""
