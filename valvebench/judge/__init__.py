"""Number + uncertainty + band + rule -> verdict: the only room that compares with a limit."""
