"""The few own widgets, used on every page; each has its states in the gallery."""
