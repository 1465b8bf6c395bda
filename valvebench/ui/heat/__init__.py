"""The Heat page: runs of warmed parts against copper."""
