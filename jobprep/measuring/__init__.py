"""From an original disc to numbers: hand-taken points or a photograph, circle fits, colours."""
