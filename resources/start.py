"""Set valvebench up and start it; `python3 resources/start.py --help` says what it can do."""

# This file is kept readable for old interpreters, so that they too can say what is missing.
import sys

OLDEST = (3, 11)
NEWEST = (3, 14)


def unsuitable(version):  # noqa: ANN001, ANN201  annotations would not parse on the oldest interpreters
    """Say in one sentence why this interpreter will not do, or return an empty text."""
    if OLDEST <= tuple(version[:2]) <= NEWEST:
        return ""
    return "valvebench needs Python %d.%d to %d.%d and this is %d.%d. %s" % (
        OLDEST
        + NEWEST
        + tuple(version[:2])
        + ("Install one from python.org or your system's packages and start again with it.",)
    )


if __name__ == "__main__":
    problem = unsuitable(sys.version_info)
    if problem:
        sys.exit(problem)
    from starter.main import main

    sys.exit(main(sys.argv[1:]))
