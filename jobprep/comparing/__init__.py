"""A finished copy in a photograph, held against its design."""
