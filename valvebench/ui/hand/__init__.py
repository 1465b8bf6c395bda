"""Start from the part in hand: the walk, what it shows, and the names at its end."""
