"""Which page of the guide belongs to which page of the window, and what of its text is shown.  No Qt."""

from __future__ import annotations

import re
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

FIRST: Final = "README.md"
TOPICS: Final = MappingProxyType(
    {
        "Start": "bench.md",
        "Job": "bench.md",
        "Identify": "identify.md",
        "Pins": "bench.md",
        "Part in hand": "part-in-hand.md",
        "Heat": "heat.md",
        "Flex": "flex.md",
        "Ports": "ports.md",
        "Taps": "leaks.md",
        "Sweep": "leaks.md",
        "Leak": "leaks.md",
        "Findings": "findings.md",
        "Archive": "archive.md",
        "Variants": "library.md",
        "Variant editor": "variants.md",
    }
)
_PICTURE: Final = re.compile(
    r'<picture><source [^>]*srcset="(?P<dark>[^"]+)"><img src="(?P<light>[^"]+)" alt="(?P<words>[^"]*)"></picture>'
)


class Target(NamedTuple):
    """Where a link leads: a page of the guide and a heading on it."""

    path: Path
    anchor: str


def topic_of(word: str) -> str:
    """The page of the guide for a page of the window."""
    return TOPICS.get(word, FIRST)


def shown_markdown(text: str, *, is_dark: bool) -> str:
    """The text with the pictures of the palette in force, as plain Markdown."""
    return _PICTURE.sub(lambda found: f"![{found['words']}]({found['dark' if is_dark else 'light']})", text)


def slug(heading: str) -> str:
    """The anchor of a heading, as readers of Markdown make it."""
    return re.sub(r"[^\w\- ]", "", heading.lower().replace("`", "")).strip().replace(" ", "-")


def target_of(link: str, *, page: Path, guide: Path) -> Target | None:
    """Where a link leads; None where it leads out of the guide or to nothing."""
    name, _, anchor = link.partition("#")
    if ":" in name:
        return None
    path = (page.parent / name).resolve() if name else page.resolve()
    is_inside = path.is_relative_to(guide.resolve()) and path.suffix == ".md" and path.is_file()
    return Target(path, anchor) if is_inside else None
