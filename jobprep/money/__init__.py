"""What plans cost, line by line; a plan is all it takes."""
