"""Words of `valvebench archive` that look something up: find and show."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Any, Final

from valvebench.bench.archived import Asked, Fate, Listed, ListedPage, OpenListed, Shown
from valvebench.cli.archive import Call, archive_parser
from valvebench.cli.options import DONE, NOT_VERIFIED, Option, answer, fields, one_of, whole, words
from valvebench.model.words import VERDICT_TEXT, Verdict

FATE_TEXT: Final = {
    Fate.COMEBACK_HOT: "came back, hot",
    Fate.COMEBACK_COLD: "came back, cold",
    Fate.NO_COMEBACK: "no comeback",
    Fate.FITTED: "fitted",
    Fate.NOT_FITTED: "not fitted",
}
_LINK_TEXT: Final = {
    "came_back_as": "came back as",
    "comeback_of": "comeback of",
    "revised_by": "revised by",
    "revises": "revises",
}
_FILTERS: Final = (
    Option("--variant", "variant", words, "key of a variant"),
    Option("--verdict", "verdict", one_of(Verdict), "verdict at closing"),
    Option("--outcome", "outcome", one_of(Fate), "what became of the part"),
    Option("--since", "since", words, "closed on this day or later, as in 2031-05-06"),
    Option("--after", "after", words, "`next` of the page before"),
    Option("--most", "most", whole, "sessions on a page (50)"),
)


def run_find(call: Call) -> int:
    """A page of sessions; anything may be typed."""
    parser = archive_parser("find", "Look for sessions, the newest first; anything may be typed.")
    parser.add_argument("text", nargs="*", help="words, job numbers, serials, or beginnings of them")
    for option in _FILTERS:
        option.add_to(parser)
    arguments = parser.read(call.given)
    given = fields(arguments, _FILTERS)
    asked = Asked(
        text=" ".join(arguments.text),
        variant=given.get("variant"),
        verdict=Verdict(given["verdict"]) if "verdict" in given else None,
        outcome=Fate(given["outcome"]) if "outcome" in given else None,
        since=given.get("since"),
        after=given.get("after"),
        most=given.get("most", 50),
    )
    with closing(call.opened(arguments.at)) as archive:
        page = archive.find(asked)
        open_now = archive.open_sessions()
    data = {"sessions": [listed_data(one) for one in page.sessions], "next": page.next, "open": _open_data(open_now)}
    answer(arguments.json, data, _found_text(page, open_now))
    return DONE


def listed_data(one: Listed) -> dict[str, Any]:
    """One line of a list; the keys are stable."""
    names = ("id", "job", "serial", "part", "customer", "variant", "verdict", "outcome", "closed_at")
    return {**{name: getattr(one, name) for name in names}, "revised": one.is_revised}


def _open_data(found: tuple[OpenListed, ...]) -> list[dict[str, Any]]:
    return [{**one._asdict(), "path": str(one.path)} for one in found]


def _found_text(page: ListedPage, open_now: tuple[OpenListed, ...]) -> str:
    lines = [_line(one) for one in page.sessions] or ["Nothing found."]
    if page.next is not None:
        lines.append(f"More: --after {page.next}")
    lines += [f"not closed: job {one.job}, {one.entries} entries, {one.state}, {one.path}" for one in open_now]
    return "\n".join(lines)


def _line(one: Listed) -> str:
    fate = FATE_TEXT[one.outcome] if one.outcome is not None else ""
    names = ", ".join(part for part in (one.serial, one.part, one.customer, one.variant) if part)
    revised = " (revised)" if one.is_revised else ""
    return (
        f"{one.id[:8]}  {one.closed_at[:10]}  {one.job:<12} {VERDICT_TEXT[one.verdict]:<13} {fate:<16} {names}{revised}"
    )


def run_show(call: Call) -> int:
    """Everything about one session; evidence that does not verify is said, with its exit code."""
    parser = archive_parser("show", "Everything about one session.")
    parser.add_argument("id", help="its identity as find prints it, or the beginning of it")
    parser.add_argument("--to", type=Path, help="write the session's folder to this new place")
    arguments = parser.read(call.given)
    with closing(call.opened(arguments.at)) as archive:
        shown = archive.show(arguments.id)
        folder = archive.write_folder(arguments.id, arguments.to) if arguments.to is not None else None
    data = {**shown_data(shown), "folder": str(folder) if folder is not None else None}
    tail = [f"folder written to {folder}"] if folder is not None else []
    answer(arguments.json, data, "\n".join([*_shown_lines(shown), *tail]))
    return NOT_VERIFIED if shown.problems else DONE


def shown_data(shown: Shown) -> dict[str, Any]:
    """The stable JSON answer."""
    outcome = shown.outcome._asdict() if shown.outcome is not None else None
    return {
        **listed_data(shown.session),
        "ok": not shown.problems,
        "entries": shown.entries,
        "head": shown.head,
        "tail": shown.tail,
        "anchors": shown.anchors,
        "told": outcome,
        "links": [one._asdict() for one in shown.links],
        "judgements": [one._asdict() for one in shown.judgements],
        "files": shown.files,
        "problems": [{"line": one.line, "what": one.what} for one in shown.problems],
    }


def _shown_lines(shown: Shown) -> list[str]:
    one = shown.session
    lines = [
        f"job {one.job}: {VERDICT_TEXT[one.verdict]}, closed {one.closed_at}",
        f"id {one.id}",
        f"head {shown.head}",
    ]
    for name, value in (
        ("serial", one.serial),
        ("part", one.part),
        ("customer", one.customer),
        ("variant", one.variant),
    ):
        lines += [f"{name} {value}"] if value else []
    told = shown.outcome
    if told is not None:
        months = f", after {told.months:g} months" if told.months is not None else ""
        km = f", at {told.odometer_km:g} km" if told.odometer_km is not None else ""
        lines.append(f"outcome: {FATE_TEXT[told.fate] if told.fate is not None else 'told'}{months}{km}")
    for link in shown.links:
        why = f": {link.why}" if link.why else ""
        lines.append(f"{_LINK_TEXT[link.how]} job {link.job}, closed {link.closed_at[:10]} ({link.id[:8]}){why}")
    lines += [
        f"judged anew {again.at[:10]} ({again.what}): {VERDICT_TEXT[again.verdict]}" for again in shown.judgements
    ]
    state = "as it was written" if not shown.problems else "NOT as it was written"
    lines.append(f"{state}: {shown.entries} entries, {len(shown.files)} files, {shown.tail} entries after closing")
    return [*lines, *(f"  line {problem.line}: {problem.what}" for problem in shown.problems)]
