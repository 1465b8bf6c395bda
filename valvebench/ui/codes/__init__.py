"""Selector positions on the Pins page: one switch after the other in each position, one key each."""
