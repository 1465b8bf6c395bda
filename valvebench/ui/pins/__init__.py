"""The page on which readings are taken, pair by pair."""
