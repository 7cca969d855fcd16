"""Tables of TOML files: declared, read with their lines, checked, and written."""
