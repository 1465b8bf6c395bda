"""valvebench: test an automatic-transmission valve body on the bench and keep the evidence.

The map of the rooms and the direction of their imports is in DEVELOPERS.md.
"""

__version__ = "0.1.0"
