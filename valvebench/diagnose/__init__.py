"""What readings have to say beyond one verdict: bodies compared, matched sets, wiring."""
