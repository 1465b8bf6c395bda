"""Frozen facts and words: no file, no clock, no window, no table library."""
