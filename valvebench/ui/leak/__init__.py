"""The leak of one port as a number: two gauges, a vacuum, a falling pressure."""
