"""Colour of light: spectra, lamps, what comes through films, and how far two colours differ."""
