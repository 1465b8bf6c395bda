"""The Ports page: ports, switches and solenoids tested by ear, one key each."""
