"""Which film suits: those nearest to a colour, and whether those of a design go together."""
