"""The page before a session is open."""
