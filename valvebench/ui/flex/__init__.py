"""The Flex page: one pair watched while something is moved."""
