"""Which variant the part is: one feature to look at, chances beside it, points of old and new part."""
