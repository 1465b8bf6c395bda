"""The Findings page: the session's verdict with its reasons and what is missing."""
