"""What `start.py` does, with the standard library only: environment, libraries, demo, tests."""
