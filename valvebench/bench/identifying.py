"""Which variant the part of an open session is; heavy the first time, so ask beside the window."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from valvebench.diagnose.identified import CANNOT_SEE, SOMETHING_ELSE, Identified, Look, Question
from valvebench.model.entry import FeatureSeen
from valvebench.model.session import Session
from valvebench.model.variant import Picture, Variant
from valvebench.model.words import WhichPart

if TYPE_CHECKING:
    from valvebench.diagnose.explain_priors import Priors
    from valvebench.diagnose.identify import Identifier
    from valvebench.diagnose.identify_priors import IdentifyPriors


class Assumed(NamedTuple):
    """What is taken as given: how often looks are wrong, and the spread of good parts."""

    looks: IdentifyPriors
    faults: Priors


class FeaturePicture(NamedTuple):
    """How a feature looks where it has this value: the photo that a variant of that title keeps of it."""

    value: str
    title: str
    raw: bytes


class Identifying:
    """Identifies the parts of sessions against one library, which is read and made into a table once.

    Parameters
    ----------
    variants : reads the library
    assumed : reads what is taken as given
    photo : the bytes of a photo that a variant names, None where they are not to be had
    """

    def __init__(
        self,
        *,
        variants: Callable[[], Sequence[Variant]],
        assumed: Callable[[], Assumed],
        photo: Callable[[Picture], bytes | None] = lambda _: None,
    ) -> None:
        self._variants, self._assumed, self._photo = variants, assumed, photo
        self._known: tuple[Identifier, Assumed] | None = None

    def identifier(self) -> Identifier:
        """The library, ready to be asked (raises BadInput, WorldFailed where it cannot be read)."""
        return self._made()[0]

    def identify(self, session: Session) -> Identified:
        """What the features and readings of a session say (raises BadInput, WorldFailed)."""
        from valvebench.diagnose.explain_readings import said_of
        from valvebench.diagnose.identified import NotUsed

        identifier, assumed = self._made()
        said, left_out = said_of(session, assumed.faults)
        found = identifier.identify(as_asked(looks_of(session), identifier.questions), said)
        not_used = tuple(NotUsed(one.entry, "reading", one.why) for one in left_out)
        return found._replace(left_out=(*found.left_out, *not_used))

    def pictures_of(self, feature: str) -> tuple[FeaturePicture, ...]:
        """What the library shows of a feature: of each value one photo, in the order of the answers.

        Raises BadInput, WorldFailed where the library cannot be read; a photo that is missing is left out.
        """
        identifier = self.identifier()
        answers = next((one.answers for one in identifier.questions if one.feature == feature), ())
        found: dict[str, FeaturePicture] = {}
        for variant in identifier.variants:
            for one in variant.features:
                if one.picture is None or one.this is None or spelled(one.name, [feature]) != feature:
                    continue
                value = spelled(one.this, answers)
                raw = self._photo(one.picture) if value in answers and value not in found else None
                if raw is not None:
                    found[value] = FeaturePicture(value, variant.title, raw)
        return tuple(found[answer] for answer in answers if answer in found)

    def _made(self) -> tuple[Identifier, Assumed]:
        if self._known is None:
            from valvebench.diagnose.identify import Identifier

            assumed = self._assumed()
            self._known = Identifier(self._variants(), assumed.looks, assumed.faults), assumed
        return self._known


def looks_of(session: Session) -> tuple[Look, ...]:
    """Features of the part at hand as they count now: corrected ones as corrected, withdrawn ones not at all.

    What was seen on a new part beside it says nothing about this one.
    """
    return tuple(
        Look(body.name, body.value, body.seen, item.n)
        for item in session.items_of("feature")
        if isinstance(body := item.body, FeatureSeen) and body.part is WhichPart.OLD
    )


def as_asked(looks: Iterable[Look], questions: Sequence[Question]) -> tuple[Look, ...]:
    """The same looks spelled as the library spells them, where only capitals or blanks differ."""
    known = {question.feature: question for question in questions}
    return tuple(_spelled(look, known) for look in looks)


def _spelled(look: Look, known: dict[str, Question]) -> Look:
    feature = spelled(look.feature, known)
    answers = known[feature].answers if feature in known else ()
    return look._replace(feature=feature, value=spelled(look.value, (*answers, CANNOT_SEE, SOMETHING_ELSE)))


def spelled(word: str, known: Iterable[str]) -> str:
    """The known word that this one is but for capitals and blanks; the word itself where that is none or several."""
    choices = list(known)
    if word in choices:
        return word
    plain = _plain(word)
    alike = [choice for choice in choices if _plain(choice) == plain]
    return alike[0] if len(alike) == 1 else word


def _plain(word: str) -> str:
    return " ".join(word.casefold().split())
