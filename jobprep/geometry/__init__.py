"""Exact plane geometry of lines and arcs; nothing here knows of discs or sheets."""
