"""A design file, noun by noun: one module declares what each may hold and what is made of it."""
