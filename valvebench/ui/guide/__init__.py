"""The guide inside the program."""
