"""How a session is finished: close in two steps, export with a way out, verify, the head."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import Bench, last, told
from tests.fakes.runners import HeldRunner
from valvebench.bench.evidence import Bundled, ChainProblem, Verified
from valvebench.bench.ordering import Sure, Which
from valvebench.bench.papers import Paper
from valvebench.model.errors import WorldFailed
from valvebench.ui.job.exports import BUNDLE, CANCELLED, GIVE_HEAD, NONE_WRITTEN, PICTURES, WAIT, WORKBOOK, no_folders
from valvebench.ui.job.finish import CLOSE, CLOSE_NOW, FinishPresenter, FinishView, head_words

MISSING = "Still missing: Gull, Heron, isolation of 1, 2, 3."


def verified(*problems):
    return Verified(
        ok=not problems,
        entries=3,
        head="3-ab",
        tail=0,
        is_closed=True,
        anchors=(),
        problems=problems,
        notes=("Head as given.",),
    )


class World:
    """Verifies and writes workbooks as the test says."""

    def __init__(self) -> None:
        self.answer = verified()
        self.written: list[Path] = []
        self.compared: list[Path | None] = []
        self.papers: list[tuple[Paper, Path]] = []
        self.is_full = False

    def verify(self, path, *, head=None):
        return self.answer

    def write_workbook(self, folder, target, *, rule=None, step=None, compare=None):
        if not step("filling its sheets"):
            return False
        if self.is_full:
            raise WorldFailed("no space left")
        self.written.append(target)
        self.compared.append(compare)
        return True

    def write_paper(self, folder, paper, target, *, step=None, which=None, new=None):
        if not step("filling the page"):
            return False
        if self.is_full:
            raise WorldFailed("no space left")
        self.papers.append((paper, target))
        self.order = which, new
        return True

    def write_bundle(self, folder, target, *, step=None):
        if not step("checking the session"):
            return None
        if self.is_full:
            raise WorldFailed("no space left")
        self.written.append(target)
        return Bundled(path=target, size_bytes=1, sha256="ab", files=1, entries=3, head="3:ab")

    def write_pictures(self, folder, root, *, step=None):
        for name in ("01-Connector-A.png", "02-Solenoid-Gull.png"):
            if not step(name):
                return None
        if self.is_full:
            raise WorldFailed("no space left")
        self.written.append(root / f"{folder.name}-pictures")
        return self.written[-1]


class Page:
    """The end of one session."""

    def __init__(self) -> None:
        self.bench = Bench().start()
        self.view = create_autospec(FinishView, instance=True)
        self.world, self.exporter = World(), HeldRunner()
        self.was_closed = 0
        self.compared_with: Path | None = None
        self.finish = FinishPresenter(
            self.view,
            self.bench.keeper,
            Path("job-1"),
            self.world,
            runner=self.bench.runner,
            exporter=self.exporter,
            closed=self._closed,
            compared_with=lambda: self.compared_with,
        )
        self.finish.show_judged(self.bench.pins.judgement())

    def _closed(self) -> None:
        self.was_closed += 1

    def close(self) -> None:
        self.finish.close()
        self.finish.close()

    @property
    def said(self):
        return self.view.say.call_args

    @property
    def is_closed(self) -> bool:
        return self.bench.desk.session.is_closed


@pytest.fixture
def page():
    return Page()


def test_the_state_names_what_is_missing(page):
    assert last(page.view.show_state)[1] == MISSING
    assert page.view.show_state.call_args.kwargs == {"is_closed": False}


def test_with_everything_read_nothing_is_missing(page):
    for typed in ("5.5", "5.5", "60 M"):
        page.bench.key_in(typed)
    page.finish.show_judged(page.bench.pins.judgement())
    assert last(page.view.show_state)[1] == "Nothing is missing."


def test_the_first_press_says_what_is_missing_and_writes_nothing(page):
    page.finish.close()
    assert not page.is_closed
    assert page.said.args[0].startswith(f"{MISSING} Press again to close.")
    assert last(page.view.show_close) == (CLOSE_NOW,)


def test_the_second_press_closes_and_shows_the_head(page):
    page.close()
    assert page.is_closed
    assert last(page.view.show_head) == (page.bench.desk.session.head,)
    assert page.was_closed == 1
    assert page.bench.desk.session.close.body.missing == ("Gull", "Heron", "isolation of 1, 2, 3")


def test_a_new_entry_between_the_presses_takes_the_first_back(page):
    page.finish.close()
    page.finish.show_judged(page.bench.pins.judgement())
    assert last(page.view.show_close) == (CLOSE,)
    page.finish.close()
    assert not page.is_closed


@pytest.mark.parametrize("act", ["verify", "export"])
def test_anything_else_done_takes_the_first_press_back(page, act):
    page.finish.close()
    page.finish.verify() if act == "verify" else page.finish.export("out.xlsx")
    page.finish.close()
    assert not page.is_closed


def test_a_reading_on_its_way_is_waited_for(page):
    page.finish.close()
    page.bench.runner.is_held = True
    page.bench.key_in("5.5")
    page.finish.close()
    assert (page.said.kwargs, page.is_closed) == ({"is_problem": True}, False)
    page.bench.runner.release()
    page.close()
    assert page.is_closed
    assert [entry.kind for entry in page.bench.desk.session.entries] == ["open-job", "reading", "close"]


def test_a_close_that_is_not_saved_is_told_and_nothing_is_lost(page):
    page.bench.store.is_full = True
    page.close()
    assert page.said.args == ("no space left Nothing that was kept is lost.",)
    assert (page.said.kwargs, page.is_closed, page.was_closed) == ({"is_problem": True}, False, 0)
    page.bench.store.is_full = False
    page.close()
    assert page.is_closed


def test_closing_a_closed_session_is_refused_in_words(page):
    page.close()
    page.close()
    assert page.said.kwargs == {"is_problem": True}
    assert page.was_closed == 1


def test_a_closed_session_shows_its_head_from_the_start(page):
    page.close()
    page.view.show_head.reset_mock()
    page.finish.start()
    assert last(page.view.show_head) == (page.bench.desk.session.head,)


def test_the_head_goes_to_the_clipboard(page):
    page.close()
    page.finish.copy_head()
    assert last(page.view.put_on_clipboard) == (page.bench.desk.session.head,)


def test_the_workbook_is_written_named_and_its_folder_shown(page):
    page.finish.export("sub/out.xlsx")
    assert told(page.view.say) == ["Writing the workbook \u2026", "Workbook written to sub/out.xlsx"]
    assert page.world.written == [Path("sub/out.xlsx")]
    assert last(page.view.show_written) == (Path("sub/out.xlsx"),)
    page.finish.exports.show_in_folder()
    assert last(page.view.open_folder) == (Path("sub"),)


def test_waiting_counts_the_seconds_and_names_the_step(page):
    page.exporter.is_held = True
    page.finish.export("out.xlsx")
    assert page.view.show_busy.call_args.kwargs == {"is_busy": True}
    page.finish.exports.tick()
    page.finish.exports.tick()
    assert page.said.args == ("Writing the workbook: Reading the session, 2 s \u2026",)
    page.exporter.release()
    assert page.view.show_busy.call_args.kwargs == {"is_busy": False}
    page.finish.exports.tick()
    assert page.said.args == ("Workbook written to out.xlsx",)


def test_the_workbook_holds_what_is_compared_on_findings(page):
    page.finish.export("job-1.xlsx")
    page.compared_with = Path("job-2")
    page.finish.export("job-1.xlsx")
    assert page.world.compared == [None, Path("job-2")]


def test_a_cancelled_export_writes_nothing_and_says_so_at_once(page):
    page.exporter.is_held = True
    page.finish.export("out.xlsx")
    page.finish.exports.cancel()
    assert page.said.args == (CANCELLED[WORKBOOK],)
    page.exporter.release()
    assert (page.world.written, page.said.args) == ([], (CANCELLED[WORKBOOK],))


def test_a_bundle_goes_beside_the_workbook_and_the_head_another_way(page):
    page.finish.export_bundle("sub/out.xlsx")
    assert page.world.written == [Path("sub/job-1.zip")]
    assert told(page.view.say) == ["Writing the bundle \u2026", f"Bundle written to sub/job-1.zip. {GIVE_HEAD}"]
    page.finish.exports.show_in_folder()
    assert last(page.view.open_folder) == (Path("sub"),)


def test_a_cancelled_bundle_is_not_written(page):
    page.exporter.is_held = True
    page.finish.export_bundle("out.xlsx")
    page.finish.exports.cancel()
    page.exporter.release()
    assert (page.world.written, page.said.args) == ([], (CANCELLED[BUNDLE],))


def test_a_bundle_that_cannot_be_written_is_told(page):
    page.world.is_full = True
    page.finish.export_bundle("out.xlsx")
    assert page.said.args == ("no space left Nothing that was kept is lost.",)


def test_pictures_go_into_a_folder_beside_the_workbook(page):
    page.finish.export_pictures("sub/out.xlsx")
    assert told(page.view.say) == ["Writing the pictures \u2026", "Pictures written to sub/job-1-pictures"]
    page.finish.exports.show_in_folder()
    assert last(page.view.open_folder) == (Path("sub/job-1-pictures"),)


def test_the_report_goes_beside_the_workbook_under_its_name(page):
    page.finish.export_report("sub/out.xlsx")
    assert page.world.papers == [(Paper.REPORT, Path("sub/out.pdf"))]
    assert told(page.view.say) == ["Writing the report \u2026", "Report written to sub/out.pdf"]


def test_an_order_sheet_takes_the_identification_and_the_new_part_along(page):
    which = Which(sure=Sure.OPEN)
    page.finish.exports.paper(Paper.ORDER, Path("sub/order.pdf"), which=which, new=Path("job-2"))
    assert (page.world.papers, page.world.order) == ([(Paper.ORDER, Path("sub/order.pdf"))], (which, Path("job-2")))


def test_cancelled_pictures_leave_nothing(page):
    page.exporter.is_held = True
    page.finish.export_pictures("out.xlsx")
    page.finish.exports.cancel()
    page.exporter.release()
    assert (page.world.written, page.said.args) == ([], (CANCELLED[PICTURES],))


def test_a_page_that_asked_for_pictures_hears_what_becomes_of_them(page):
    heard = []
    page.world.is_full = True
    page.finish.export_pictures("out.xlsx", lambda *words: heard.append(words))
    assert heard[0] == ("Writing the pictures \u2026 Ctrl+Shift+E stops it.", False)
    assert heard[-1] == ("no space left Nothing that was kept is lost.", True)


def test_such_a_page_is_told_the_keys_that_stop_and_show(page):
    """It has no buttons for it, as the Job page has."""
    heard = []

    def tell(words, is_problem):
        heard.append((words, is_problem))

    page.finish.exports.show_in_folder(tell)
    assert heard == [(NONE_WRITTEN, True)]
    page.exporter.is_held = True
    page.finish.export_pictures("sub/out.xlsx", tell)
    page.finish.exports.tick()
    assert heard[-1] == ("Writing the pictures: Reading the session, 1 s \u2026 Ctrl+Shift+E stops it.", False)
    page.finish.export_pictures("sub/out.xlsx", tell)
    assert heard[-1] == (CANCELLED[PICTURES], False)
    page.exporter.release()
    assert page.world.written == []
    page.exporter.is_held = False
    page.finish.export_pictures("sub/out.xlsx", tell)
    assert heard[-1] == ("Pictures written. Ctrl+Shift+F shows the folder job-1-pictures", False)
    page.view.open_folder.return_value = False
    page.finish.exports.show_in_folder(tell)
    assert heard[-1] == (no_folders(Path("sub/job-1-pictures")), True)


def test_such_a_page_hears_that_another_export_is_under_way(page):
    heard = []
    page.exporter.is_held = True
    page.finish.export("out.xlsx")
    page.finish.export_pictures("out.xlsx", lambda *words: heard.append(words))
    page.exporter.release()
    assert heard == [(WAIT, True)]
    assert page.world.written == [Path("out.xlsx")]


def test_the_head_can_be_read_out_in_groups_of_sixteen():
    assert head_words(f"45:{'0123456789abcdef' * 4}") == "Head 45:" + " ".join(["0123456789abcdef"] * 4)


def test_a_second_press_while_one_is_written_does_nothing(page):
    page.exporter.is_held = True
    page.finish.export("out.xlsx")
    page.finish.export("out.xlsx")
    page.exporter.release()
    assert page.world.written == [Path("out.xlsx")]


def test_a_workbook_that_cannot_be_written_is_told(page):
    page.world.is_full = True
    page.finish.export("out.xlsx")
    assert page.said.args[0].startswith("no space left")
    assert page.said.kwargs == {"is_problem": True}
    assert page.view.show_busy.call_args.kwargs == {"is_busy": False}


def test_verify_says_that_all_is_as_it_was_written(page):
    page.finish.verify()
    assert page.said.args == ("As it was written: 3 entries, head 3-ab. Head as given.",)
    assert page.said.kwargs == {}


def test_verify_names_the_first_line_that_differs(page):
    page.world.answer = verified(ChainProblem(line=2, what="the hash differs"))
    page.finish.verify()
    assert page.said.args == ("Not as it was written: line 2, the hash differs",)
    assert page.said.kwargs == {"is_problem": True}


def test_a_fault_of_ours_is_not_hidden(page):
    page.world.verify = lambda *_, **__: 1 / 0
    with pytest.raises(ZeroDivisionError):
        page.finish.verify()
