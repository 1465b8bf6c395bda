"""The variant editor: tables, a live drawing, and what is still missing."""
