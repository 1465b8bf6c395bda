"""Pressures at taps, read in the vehicle: value, fluid temperature, Enter, next."""
