"""Decides what is handed over with a closed session: tag, e-mail, claim page.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final, Protocol

from valvebench.bench.evidence import anchored_text
from valvebench.bench.handing import given_lines, hand_over
from valvebench.bench.papers import Paper
from valvebench.model.errors import BadInput
from valvebench.model.session import Session
from valvebench.model.words import AnchorKind
from valvebench.ui.job.exports import Exporting, ExportPresenter, ExportView
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.start.drops import as_path

MAIL_COPIED: Final = (
    "The words of an e-mail are on the clipboard. Send it, then keep below to whom: until then nobody outside has "
    "the head."
)
WHY: Final = "It proves something only outside: hand over the tag or send an e-mail."
TO_WHOM: Final = "Hand it over, then keep below to whom."


class HandView(ExportView, Protocol):
    """What the presenter asks of the card."""

    def show_open(self, *, is_open: bool) -> None: ...
    def show_given(self, words: str) -> None: ...
    def put_on_clipboard(self, text: str) -> None: ...


class HandPresenter:
    """The papers of one closed session; `given` hears how the head leaves the shop next."""

    def __init__(
        self,
        view: HandView,
        keeper: Keeper,
        folder: Path,
        services: Exporting,
        *,
        exporter: Runs,
        given: Callable[[AnchorKind], None],
    ) -> None:
        self._view, self._keeper, self._folder, self._given = view, keeper, folder, given
        self.exports = ExportPresenter(view, folder, services, exporter)

    def refresh(self) -> None:
        """Before closing the card stays away; then it says how far outside the shop the head is known."""
        session = self._keeper.desk.session
        self._view.show_open(is_open=session.is_closed)
        self._view.show_given(_given(session))

    def tag(self, ending: str, workbook: str) -> None:
        """Write the tag beside the workbook."""
        self.exports.paper(Paper.TAG, self._beside(workbook, f"-tag{ending}"), then=TO_WHOM)
        self._given(AnchorKind.TAG_HANDED_OVER)

    def claim(self, ending: str, workbook: str) -> None:
        """Write the claim page beside the workbook."""
        self.exports.paper(Paper.CLAIM, self._beside(workbook, f"-claim{ending}"))

    def _beside(self, workbook: str, end: str) -> Path:
        return as_path(workbook).parent / f"{self._folder.name}{end}"

    def copy_mail(self) -> None:
        """An e-mail with the head onto the clipboard."""
        desk = self._keeper.desk
        try:
            mail = hand_over(desk.session, desk.variant).mail
        except BadInput as error:  # an open session has no head to give
            self._view.say(str(error), is_problem=True)
            return
        self._view.put_on_clipboard(mail)
        self._view.say(MAIL_COPIED)
        self._given(AnchorKind.SENT_TO_CUSTOMER)


def _given(session: Session) -> str:
    """To whom and when; where the shop alone has it, what to do about it."""
    kinds = {one.kind for one in session.anchors}
    if kinds - {AnchorKind.OWN_ARCHIVE}:
        return "\n".join(f"{line[0].upper()}{line[1:]}." for line in given_lines(session))
    return f"{anchored_text(kinds)} {WHY}"
