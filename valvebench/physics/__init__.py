"""Pure formulas: the same expressions serve one number and whole arrays."""
