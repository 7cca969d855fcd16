"""Regions on sheets of any outline; nothing here knows of films or prices."""
