"""What is handed over with a closed session: the tag with its code, and the words of an e-mail.

The code says, in lines of UTF-8: `valvebench tag 1`, then `job`, `session` and `head`, each with a blank and its text.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.model.entry import Anchor, Close
from valvebench.model.errors import bad
from valvebench.model.format import stamp_text
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.words import VERDICT_TEXT, AnchorKind

TAG_FORMAT: Final = "valvebench tag 1"
GIVEN_TEXT: Final = MappingProxyType(
    {
        AnchorKind.OWN_ARCHIVE: "kept in our own archive",
        AnchorKind.TAG_HANDED_OVER: "on the tag handed over",
        AnchorKind.SENT_TO_CUSTOMER: "sent to the customer",
        AnchorKind.TIME_STAMP_SERVICE: "left with a time-stamp service",
    }
)
_GROUP: Final = 16
_LONGEST_BYTES: Final = 300
"""Of the code: the longer, the finer its squares on a small label."""


@dataclass(frozen=True, kw_only=True)
class TagFacts:
    """What a tag says of one closed session."""

    job: str
    session: str
    head: str
    closed_at: str
    closed_by: str
    verdict: str
    variant: str | None = None
    part: str | None = None
    serial: str | None = None
    mark: str | None = None


class HandOver(NamedTuple):
    """A closed session in words to hand on: its tag, what the code on it says, an e-mail."""

    tag: TagFacts
    code: str
    mail: str


def hand_over(session: Session, variant: Variant | None) -> HandOver:
    """All of it (raises BadInput for an open session)."""
    tag = tag_facts(session, variant)
    return HandOver(tag, tag_text(tag), mail_text(tag))


def given_lines(session: Session) -> tuple[str, ...]:
    """To whom the head was given, when, and who says so; one line for each time."""
    return tuple(
        f"{GIVEN_TEXT[entry.body.kind]}{f', to {entry.body.to}' if entry.body.to else ''}, "
        f"{stamp_text(entry.at)}, recorded by {entry.by}"
        for entry in session.entries
        if isinstance(entry.body, Anchor)
    )


def tag_facts(session: Session, variant: Variant | None) -> TagFacts:
    """Gather them (raises BadInput for an open session: its head is not the last word)."""
    entry = session.close
    if entry is None or not isinstance(entry.body, Close):
        raise bad("session", "an open session", "a closed one", "Close it first: the tag carries its head.")
    job = session.job
    return TagFacts(
        job=job.job,
        session=job.session,
        head=session.head,
        closed_at=entry.at,
        closed_by=entry.by,
        verdict=closing_words(entry.body),
        variant=variant.title if variant is not None else None,
        part=job.part,
        serial=job.serial,
        mark=job.mark,
    )


def closing_words(body: Close) -> str:
    """Verdict and scope as they stood when the session was closed."""
    names = {verdict.value: text for verdict, text in VERDICT_TEXT.items()}
    return f"{names.get(body.verdict, body.verdict)}: {body.scope}"


def tag_text(facts: TagFacts) -> str:
    """What the code says; a name too long for a small label is left out, the head never."""
    lines = [f"session {_one_line(facts.session)}", f"head {facts.head}"]
    whole = [TAG_FORMAT, f"job {_one_line(facts.job)}", *lines]
    for some in (whole, [TAG_FORMAT, *lines]):
        text = "\n".join(some)
        if len(text.encode("utf-8")) <= _LONGEST_BYTES:
            return text
    return f"{TAG_FORMAT}\n{lines[-1]}"


def _one_line(text: str) -> str:
    """White space and signs that are not printed become one blank."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def head_text(head: str) -> str:
    """The head in groups of 16 digits, which can be read out and written down."""
    number, _, digits = head.partition(":")
    groups = [digits[start : start + _GROUP] for start in range(0, len(digits), _GROUP)]
    return f"{number}:{' '.join(groups)}"


def mail_text(facts: TagFacts) -> str:
    """Plain words to send with the head: what it is, and how to check a session against it."""
    variant = f", {facts.variant}" if facts.variant else ""
    serial = f", serial {facts.serial}" if facts.serial else ""
    return (
        f"Record of bench test, job {_one_line(facts.job)}{variant}{serial}\n"
        "\n"
        f"Closed {facts.closed_at} by {facts.closed_by}. {facts.verdict}.\n"
        "\n"
        "Please keep this message. It carries the head of our record: the number of its entries, and a hash that "
        "changes with any of them.\n"
        "\n"
        f"Head: {facts.head}\n"
        f"Session: {facts.session}\n"
        "\n"
        "To check the record later, ask us for the session and run the program valvebench on it:\n"
        "\n"
        f"valvebench verify SESSION --head {facts.head}\n"
        "\n"
        "It says whether every entry up to this head is as it was when this message was sent. Without the program: "
        f"the SHA-256 of line {facts.head.partition(':')[0]} of the file journal.jsonl, without its line feed, is the "
        "hash above, and each line names the hash of the line before it.\n"
        "\n"
        "The results relate only to the item tested. A bench pass is not a road test.\n"
    )
