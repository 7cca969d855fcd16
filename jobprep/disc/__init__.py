"""From a design to its parts, and what the finished disc weighs, how it balances and times."""
