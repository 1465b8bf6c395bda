"""Invented bodies, meters and hands for demo and training: seeded, pure, no file and no clock."""
