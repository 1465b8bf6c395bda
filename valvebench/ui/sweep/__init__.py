"""A sweep of a solenoid's current: a file or a pasted table, drawn, read out and kept."""
