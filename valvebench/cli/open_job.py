"""`valvebench open-job`: make a session folder for a job."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from valvebench.cli.options import DONE, Option, Parser, answer, fields, number, one_of, words
from valvebench.cli.services import MakeServices
from valvebench.model.errors import bad
from valvebench.model.words import JobKind

JOB: Final = (
    Option("--job", "job", words, "job number"),
    Option("--kind", "kind", one_of(JobKind), "complaint (default), bench_check or enquiry"),
    Option("--vehicle", "vehicle", words, "vehicle identity"),
    Option("--odometer-km", "odometer_km", number, "odometer when it came in [km]"),
    Option("--customer", "customer", words, "customer"),
    Option("--part", "part", words, "part number of the body"),
    Option("--batch", "batch", words, "batch"),
    Option("--trim", "trim", words, "date and trim code"),
    Option("--serial", "serial", words, "serial number of the body"),
    Option("--mark", "mark", words, "the shop's own mark on the part"),
    Option("--supplier", "supplier", words, "supplier and invoice"),
    Option("--comeback-of", "comeback_of", words, "job number of the earlier job"),
    Option("--revises", "revises", words, "identity of the closed session in the archive that this one revises"),
    Option("--why", "revises_why", words, "reason for the revision"),
    Option("--shift", "shift", words, "which shift or event, 5-6"),
    Option("--when", "when", words, "hot, cold, sometimes or always"),
    Option("--feel", "feel", words, "what it feels like, bump"),
    Option("--require-air", "require_air", None, "air tests of every port are asked for"),
)


def run(words_given: Sequence[str], services: MakeServices) -> int:
    """Make the folder and print its first entry."""
    parser = Parser("open-job", "Make a session folder for a job.")
    parser.add_argument("folder", type=Path, help="the new session folder")
    parser.add_argument("--variant", type=Path, help="variant file; it is frozen into the session")
    parser.add_argument("--by", help="who works (default: the user of this computer)")
    for option in JOB:
        option.add_to(parser)
    arguments = parser.read(words_given)
    job = fields(arguments, JOB)
    if "job" not in job:
        raise bad("--job", "nothing", "the job number")
    desk = services().create_job(arguments.folder, job, variant=arguments.variant, by=arguments.by)
    entry = desk.session.entries[0]
    desk.release()
    data = {"entry": entry.n, "hash": entry.sha256, "folder": str(arguments.folder)}
    answer(arguments.json, data, f"job {job['job']}: session made in {arguments.folder}")
    return DONE
