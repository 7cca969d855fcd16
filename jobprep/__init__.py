"""From the description of layered film discs to everything a workshop needs to cut them."""

__version__ = "0.1.0"
