"""TOML in and out: jobs, designs, films, cutters, run records; whole files or none."""
