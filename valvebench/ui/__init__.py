"""The window: pages, widgets and looks."""
