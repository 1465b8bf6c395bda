"""The page of the variant library, in front of the editor."""
