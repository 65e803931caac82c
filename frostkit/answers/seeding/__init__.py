"""When to seed, and which hybrid: the window, the choice, what it pays."""
