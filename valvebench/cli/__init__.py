"""The use cases on a command line: plain text or one JSON object, stable exit codes."""
