"""A session as an Excel workbook: evidence on paper, and formulas that anyone can follow."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from valvebench.bench.explain_report import ExplainedJob
from valvebench.bench.suspecting import Suspicion
from valvebench.diagnose.compared import Side
from valvebench.judge.session import SessionJudgement
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.report.air import write_air
from valvebench.report.air_leaks import leak_cases, write_leaks
from valvebench.report.air_taps import write_pressures, write_sweeps
from valvebench.report.cases import cases_of
from valvebench.report.cells import Book
from valvebench.report.charts import DATA_TITLE, plots_of, write_charts
from valvebench.report.compared import write_compared
from valvebench.report.explanations import write_explanations
from valvebench.report.flex import flex_cases, write_flex
from valvebench.report.heat import write_heat
from valvebench.report.heat_cases import NO_LOGS, Logs, has_heat, heat_cases
from valvebench.report.heat_charts import DATA_TITLE as HEAT_DATA_TITLE
from valvebench.report.heat_charts import write_heat_charts
from valvebench.report.heat_formulas import WORKINGS_TITLE as HEAT_WORKINGS_TITLE
from valvebench.report.heat_workings import write_heat_rounds
from valvebench.report.history import fates
from valvebench.report.identity import moment, report_id
from valvebench.report.matched import write_matched
from valvebench.report.method import write_method
from valvebench.report.pack import packed
from valvebench.report.photos import write_photos
from valvebench.report.readings import write_readings
from valvebench.report.summary import Front, write_summary
from valvebench.report.suspects import write_suspects
from valvebench.report.trail import write_trail
from valvebench.report.wiring import has_wiring, write_wiring
from valvebench.report.workings import write_workings

AT_THE_END: Final = (HEAT_WORKINGS_TITLE, DATA_TITLE, HEAT_DATA_TITLE)
"""Sheets that are read last, though others needed them before."""


def workbook_bytes(
    session: Session,
    variant: Variant | None,
    judged: SessionJudgement,
    *,
    printed_at: str,
    program: str,
    photos: Mapping[str, bytes],
    other: Side | None = None,
    logs: Logs = NO_LOGS,
    explained: ExplainedJob | None = None,
    suspicion: Suspicion | None = None,
) -> bytes:
    """The bytes of the .xlsx file of a session; the caller saves them, nothing here touches the disk.

    Parameters
    ----------
    session, variant, judged : what was kept, what it was held against, what came of it
    printed_at : time of printing, RFC 3339; it makes the report's id together with the head
    program : name and version, as it is printed
    photos : bytes of the photos by their SHA-256; one that is missing is said to be missing
    other : a session to compare with, for a sheet of its own
    logs : the run behind each heat-run entry, for its chart; one that is missing is said to be missing
    explained : what explains the readings, for a sheet of its own; none where there is no variant or no reading
    suspicion : what was suspected for the complaint, for a sheet of its own; none where there is no complaint

    Returns
    -------
    bytes
        The same for the same arguments.
    """
    book = Book()
    front = Front(
        session=session,
        variant=variant,
        judged=judged,
        report_id=report_id(session, printed_at=printed_at, program=program),
        printed_at=printed_at,
        program=program,
    )
    write_sheets(book, front, photos, other, logs, explained, suspicion)
    return packed(book.workbook, title=f"Report {front.report_id}", program=program, printed=moment(printed_at))


def write_sheets(
    book: Book,
    front: Front,
    photos: Mapping[str, bytes],
    other: Side | None = None,
    logs: Logs = NO_LOGS,
    explained: ExplainedJob | None = None,
    suspicion: Suspicion | None = None,
) -> None:
    """All sheets in the order in which they are read."""
    session, number = front.session, front.report_id
    cases = cases_of(session, front.variant, front.judged)
    history = fates(session)
    write_summary(book, front)
    write_readings(book, history, cases, report_id=number)
    write_air(book, history, front.judged, report_id=number)
    if has_heat(session):
        runs, waiting = heat_cases(session, front.variant, front.judged)
        write_heat(book, runs, waiting, logs, report_id=number)
        write_heat_charts(book, runs, logs, report_id=number)
        write_heat_rounds(book, runs, session, report_id=number)
    write_leaks(book, leak_cases(session, front.judged), report_id=number)
    write_pressures(book, front.judged, report_id=number)
    write_sweeps(book, session, front.judged, report_id=number)
    write_flex(book, flex_cases(session, front.judged), report_id=number)
    if has_wiring(session, front.variant):
        write_wiring(book, session, report_id=number)
    if explained is not None and front.variant is not None:
        write_explanations(book, explained, front.variant, report_id=number)
    if suspicion is not None:
        write_suspects(book, suspicion, report_id=number)
    write_matched(book, session, front.variant, report_id=number)
    if other is not None:
        write_compared(book, Side(session, front.variant), other, report_id=number)
    write_charts(book, plots_of(cases, front.variant), report_id=number)
    write_method(book, front, cases)
    write_trail(book, session, report_id=number)
    write_workings(book, cases, report_id=number)
    write_photos(book, session, photos, report_id=number)
    for title in AT_THE_END:
        book.move_to_end(title)
