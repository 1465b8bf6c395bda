"""The Archive page: closed sessions found again, opened, compared over time, judged anew and kept safe."""
