"""Decides what the Identify page asks next and shows of the answer.  No Qt.

What follows from the looks is worked out beside the window; of several requests only the newest is shown.  Until it
is there nothing can be answered: a key pressed early would answer the question before.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple, Protocol

from valvebench.bench.ordering import Fit, Looked, Point, Which, looks_in, points_of, which_of
from valvebench.diagnose.identified import CANNOT_SEE, Identified, Question
from valvebench.diagnose.identify_words import SEEN_TEXT
from valvebench.model.entry import Entry, FeatureSeen
from valvebench.model.errors import BenchError
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.words import JobKind, Seen, WhichPart
from valvebench.ui.errors import error_words
from valvebench.ui.identify.examples import ExamplesView, FeatureExamples
from valvebench.ui.identify.photos import FeaturePhotos, PhotoView, ReadsFiles
from valvebench.ui.identify.shown import (
    OF_THE_NEW,
    PART_TEXT,
    SEEN_BEFORE,
    LookShown,
    PointShown,
    QuestionShown,
    VerdictShown,
    answers_to,
    leads_of,
    look_shown,
    may_use,
    pages_of,
    point_shown,
    question_shown,
    titles_of,
    verdict_shown,
)
from valvebench.ui.keeper import CLOSED, Keeper, Runs
from valvebench.ui.taking_back import TakingBack, Told

if TYPE_CHECKING:
    from valvebench.bench.identifying import Identifying

WORKING: Final = "Working out what to look at next \u2026"
STILL_WORKING: Final = "Still working out what to look at next. Press the key again in a moment."
NO_SUCH_ANSWER: Final = "That digit is no answer here. The answers stand beside their keys."
NO_FEATURES: Final = "No variant of the library states a feature to look at. Add features in the variant editor."
SETTLE_FIRST: Final = (
    "Which variant the part at hand is, is not settled: the new part has nothing to be held against yet."
)
NO_MUST: Final = "{title} states no point that must match: there is nothing to hold the new part against."
FAILED: Final = "It could not be worked out. What was kept is kept. {why}"
FAULT_OF_OURS: Final = "This is a fault of the program: copy the details below and send them to whoever looks after it."
_NEXT_SEEN: Final = {Seen.US: Seen.PHOTO, Seen.PHOTO: Seen.PHONE, Seen.PHONE: Seen.US}


class IdentifyView(PhotoView, ExamplesView, Protocol):
    """What the presenter asks of the page."""

    def show_question(self, shown: QuestionShown) -> None: ...
    def show_nothing(self, words: str) -> None: ...
    def show_busy(self, *, is_busy: bool) -> None: ...
    def show_how(self, seen: str, part: str) -> None: ...
    def show_verdict(self, shown: VerdictShown) -> None: ...
    def show_points(self, title: str, points: Sequence[PointShown]) -> None: ...
    def show_looks(self, looks: Sequence[LookShown]) -> None: ...
    def set_open(self, *, is_open: bool) -> None: ...


class Beside(NamedTuple):
    """What runs beside the window: `thinker` works out, `runner` reads and keeps."""

    thinker: Runs
    runner: Runs


class Answer(NamedTuple):
    """What was found for a session, and the library it was found in."""

    of: Session
    found: Identified
    questions: dict[str, Question]
    variants: tuple[Variant, ...]
    has_photos: bool
    """Whether any variant keeps a photo of a feature."""

    def variant(self, key: str) -> Variant:
        """A variant by its key."""
        return next(one for one in self.variants if one.key == key)


class IdentifyPresenter:
    """The part of one open session; `identifying` reads the library anew each time the page comes to the front."""

    def __init__(
        self,
        view: IdentifyView,
        keeper: Keeper,
        beside: Beside,
        files: ReadsFiles,
        *,
        identifying: Callable[[], Identifying],
        decoded: Callable[[bytes], Any] = lambda raw: raw,
    ) -> None:
        self._view, self._keeper, self._files = view, keeper, files
        self._thinker, self._runner = beside
        self._make, self._identifying = identifying, identifying()
        self._answer: Answer | None = None
        self._seen, self._part = _seen_last(keeper.desk.session), WhichPart.OLD
        self._queue: tuple[str, ...] = ()
        self._leads: dict[str, str] = {}
        self._skipped = _hidden_on_the_phone(keeper.desk.session)
        self._at = self._page = self._asked = 0
        self._is_busy = self._is_in_front = False
        self._listeners: list[Callable[[], None]] = []
        self.photos = FeaturePhotos(view, keeper, self._runner, files, of=self._photo_now)
        self._examples = FeatureExamples(view, self._runner, decoded=decoded)
        self.taking_back = TakingBack(
            keeper,
            view.say,
            done=lambda *_: self._changed(),
            told=Told("Nothing to take back.", "Nothing to restore."),
        )
        keeper.listen(self._changed)

    # -- coming and going ------------------------------------------------------------------

    def listen(self, listener: Callable[[], None]) -> None:
        """Be told after it was worked out anew."""
        self._listeners.append(listener)

    def came_to_front(self) -> None:
        """Somebody looks: the library may have changed meanwhile."""
        self._is_in_front = True
        self._identifying = self._make()
        self._work_out()

    def left(self) -> None:
        """Nobody looks any more: what has not begun is not begun."""
        self._is_in_front = False
        self._asked += 1
        self._is_busy = False

    def _changed(self) -> None:
        if self._is_in_front and (self._answer is None or self._answer.of is not self._session):
            self._work_out()

    @property
    def _session(self) -> Session:
        return self._keeper.desk.session

    @property
    def answer_now(self) -> Answer | None:
        """What was found, if it is about what counts now."""
        answer = self._answer
        return answer if answer is not None and not self._is_busy and answer.of is self._session else None

    def which_now(self) -> Which | None:
        """The same as an order sheet tells it."""
        answer = self.answer_now
        return which_of(answer.found, answer.variants) if answer is not None else None

    def confirmed(self) -> Variant | None:
        """The variant a job may be started with; only a confirmed one."""
        answer = self.answer_now
        return answer.variant(answer.found.leading[0]) if answer is not None and may_use(answer.found) else None

    # -- working it out --------------------------------------------------------------------

    def _work_out(self) -> None:
        self._asked += 1
        number, session, identifying = self._asked, self._session, self._identifying
        self._show_looks()
        self._view.set_open(is_open=not session.is_closed)
        self._view.show_how(SEEN_TEXT[self._seen], PART_TEXT[self._part])
        self._view.show_busy(is_busy=True)
        self._is_busy = True

        def work() -> Answer | None:
            if number != self._asked:
                return None
            found, identifier = identifying.identify(session), identifying.identifier()
            questions = {question.feature: question for question in identifier.questions}
            variants = tuple(identifier.variants)
            has_photos = any(feature.picture is not None for one in variants for feature in one.features)
            return Answer(session, found, questions, variants, has_photos)

        self._thinker.run(
            work,
            done=lambda answer: self._done(number, answer),
            failed=lambda error: self._failed(number, error),
        )

    def _done(self, number: int, answer: Answer | None) -> None:
        if answer is None or number != self._asked:
            return
        self._is_busy, self._answer = False, answer
        self._view.show_busy(is_busy=False)
        titles = {variant.key: variant.title for variant in answer.variants}
        self._view.show_verdict(verdict_shown(answer.found, titles_of(titles)))
        self._show_points(answer)
        self._line_up(answer)
        self._show_question()
        self._tell()

    def _tell(self) -> None:
        for listener in self._listeners:
            listener()

    def _failed(self, number: int, error: Exception) -> None:
        is_ours = not isinstance(error, BenchError)
        if number == self._asked:
            self._is_busy, self._answer = False, None
            self._queue, self._at = (), 0
            self._view.show_busy(is_busy=False)
            self._view.show_nothing(FAILED.format(why=FAULT_OF_OURS if is_ours else str(error)))
            self._tell()
        if is_ours:
            raise error

    def _line_up(self, answer: Answer) -> None:
        """What is asked in which order: for the new part its must-match points, those not seen first."""
        if self._part is WhichPart.NEW:
            points = self._points(answer)
            open_ones = [point.feature for point in points if point.new_fit is not Fit.FITS]
            wanted = list(dict.fromkeys((*open_ones, *(point.feature for point in points))))
            self._leads = dict.fromkeys(wanted, OF_THE_NEW)
        else:
            self._leads = leads_of(answer.found, self._seen)
            wanted = list(dict.fromkeys((*self._leads, *answer.questions)))
        known = [feature for feature in wanted if feature in answer.questions]
        later = [feature for feature in self._skipped if feature in known]
        self._queue = (*(feature for feature in known if feature not in later), *later)
        self._at = self._page = 0

    def _points(self, answer: Answer) -> tuple[Point, ...]:
        leading = answer.found.leading
        if len(leading) > 1 or not answer.found.has_evidence:
            return ()
        return points_of(answer.variant(leading[0]), looks_in(self._session), looks_in(self._session, WhichPart.NEW))

    # -- showing ---------------------------------------------------------------------------

    @property
    def feature(self) -> str | None:
        """The feature that is asked about."""
        return self._queue[self._at] if self._at < len(self._queue) else None

    def _show_question(self) -> None:
        answer, feature = self._answer, self.feature
        self._view.show_how(SEEN_TEXT[self._seen], PART_TEXT[self._part])
        if answer is None:
            return
        if feature is None:
            self._view.show_nothing(self._why_nothing(answer))
            self._show_picture(None)
            return
        looks = _spelled(looks_in(self._session, self._part), answer.questions)
        is_of_new = self._part is WhichPart.NEW
        lead = self._leads.get(feature, SEEN_BEFORE)
        shown = question_shown(
            answer.questions[feature],
            lead=SEEN_BEFORE if is_of_new and any(look.feature == feature for look in looks) else lead,
            seen=self._seen,
            looks=looks,
            at=(self._at + 1, len(self._queue)),
            page=self._page,
        )
        self._view.show_question(shown)
        self._show_picture(feature)

    def _why_nothing(self, answer: Answer) -> str:
        if not answer.questions:
            return NO_FEATURES
        if len(answer.found.leading) > 1 or not answer.found.has_evidence:
            return SETTLE_FIRST
        return NO_MUST.format(title=answer.variant(answer.found.leading[0]).title)

    def _show_points(self, answer: Answer) -> None:
        points = self._points(answer)
        title = answer.variant(answer.found.leading[0]).title if points else ""
        self._view.show_points(title, [point_shown(point) for point in points])

    def _show_looks(self) -> None:
        pairs = [(look, part) for part in WhichPart for look in looks_in(self._session, part)]
        self._view.show_looks([look_shown(*pair) for pair in sorted(pairs, key=lambda pair: pair[0].entry)])

    def _show_picture(self, feature: str | None) -> None:
        self.photos.show(self._photo_words(feature) if feature is not None else None)
        self._examples.show(self._identifying, feature, has_any=self._answer is not None and self._answer.has_photos)

    def _photo_words(self, feature: str) -> str:
        return feature if self._part is WhichPart.OLD else f"{feature}, new part"

    def _photo_now(self) -> str | None:
        return self._photo_words(self.feature) if self.feature is not None else None

    # -- what a person does ----------------------------------------------------------------

    def answered(self, key: str) -> None:
        """A digit: the answer is on its way to the disk."""
        feature = self.feature
        refusal = self._refusal()
        if refusal or feature is None or self._answer is None:
            self._view.say(refusal, is_problem=True)
            return
        answers = answers_to(self._answer.questions[feature], self._page)
        chosen = next((one for one in answers if one.key == key), None)
        if chosen is None:
            self._view.say(NO_SUCH_ANSWER, is_problem=True)
            return
        body = FeatureSeen(name=feature, value=chosen.value, seen=self._seen, part=self._part)
        self._keep(body, f"{feature}: {chosen.value}, {SEEN_TEXT[self._seen]}")

    def _refusal(self) -> str:
        if self._session.is_closed:
            return CLOSED
        return STILL_WORKING if self._is_busy or self._keeper.is_busy else ""

    def _keep(self, body: FeatureSeen, words: str) -> None:
        def kept(entry: Entry, _: Any) -> None:
            self._skipped = [name for name in self._skipped if name != body.name]
            if body.value == CANNOT_SEE:
                self._skipped.append(body.name)
            self._view.say(f"{words}. Kept as entry {entry.n}.")
            self._changed()

        self._keeper.keep(body, kept=kept, failed=self._not_kept)

    def _not_kept(self, error: Exception) -> None:
        self._view.say(f"Not saved. {error_words(error)}", is_problem=True)
        if not isinstance(error, BenchError):
            raise error

    def more_asked(self) -> None:
        """The next answers of a feature with many."""
        if self._answer is not None and self.feature is not None:
            self._page = (self._page + 1) % pages_of(self._answer.questions[self.feature])
            self._show_question()

    def seen_turned(self) -> None:
        """By us, in a photo, told by phone: it holds for every answer that follows."""
        self._seen = _NEXT_SEEN[self._seen]
        self._view.say(f"From here on: {SEEN_TEXT[self._seen]}.")
        feature, self._skipped = self.feature, []
        if self._answer is not None and not self._is_busy:
            self._line_up(self._answer)
            self._at = self._queue.index(feature) if feature in self._queue else 0  # it stays under the hand
        self._show_question()

    def part_turned(self) -> None:
        """The part at hand, or the new one beside it."""
        self._part = WhichPart.NEW if self._part is WhichPart.OLD else WhichPart.OLD
        self._skipped = []
        self._view.say(f"From here on: {PART_TEXT[self._part]}.")
        if self._answer is not None and not self._is_busy:
            self._line_up(self._answer)
        self._show_question()

    def previous(self) -> None:
        """Back one feature."""
        self._step(-1)

    def skip(self) -> None:
        """Leave this feature for later."""
        if self.feature is not None and self.feature not in self._skipped:
            self._skipped.append(self.feature)
        self._step(1)

    def _step(self, by: int) -> None:
        if self._queue and not self._is_busy:
            self._at = (self._at + by) % len(self._queue)
            self._page = 0
            self._view.say("")
            self._show_question()

    def choose(self, feature: str) -> None:
        """Go to a feature by its name."""
        if feature in self._queue:
            self._at, self._page = self._queue.index(feature), 0
            self._show_question()


def _seen_last(session: Session) -> Seen:
    """As the last look was seen; an enquiry begins by phone."""
    looks = [item.body for item in session.items if isinstance(item.body, FeatureSeen)]
    if looks:
        return looks[-1].seen
    return Seen.PHONE if session.job.kind is JobKind.ENQUIRY else Seen.US


def _hidden_on_the_phone(session: Session) -> list[str]:
    """What a voice could not see is not asked for first once more."""
    looks = [item.body for item in session.items if isinstance(item.body, FeatureSeen)]
    return list(dict.fromkeys(one.name for one in looks if one.value == CANNOT_SEE and one.seen is Seen.PHONE))


def _spelled(looks: Sequence[Looked], questions: dict[str, Question]) -> tuple[Looked, ...]:
    from valvebench.bench.identifying import spelled

    return tuple(look._replace(feature=spelled(look.feature, questions)) for look in looks)
