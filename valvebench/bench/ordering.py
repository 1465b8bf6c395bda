"""What an order rests on: what was looked at, by whom and how, which variant that leaves, and what its file names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final, NamedTuple

from valvebench.bench.identifying import spelled
from valvebench.diagnose.identified import CANNOT_SEE, Identified
from valvebench.diagnose.identify_words import against_text, holding_text
from valvebench.model.entry import FeatureSeen, Photo, Reading
from valvebench.model.session import Item, Session
from valvebench.model.variant import Feature, OrderLine, Variant
from valvebench.model.words import Seen, WhichPart

_LOOKED: Final = (Seen.US, Seen.PHOTO)


class Sure(Enum):
    """How sure it is which variant the part is; `not_asked` where nobody compared it with a library."""

    CONFIRMED = "confirmed"
    NARROWED = "narrowed"
    CONTRADICTED = "contradicted"
    NONE_OF_THESE = "none_of_these"
    OPEN = "open"
    NOT_ASKED = "not_asked"


class Chance(NamedTuple):
    """A variant by its title, and how probable it is."""

    title: str
    p: float


@dataclass(frozen=True, kw_only=True)
class Which:
    """The answer of an identification, in plain facts: `leading` one variant, or none where several are as likely.

    `holds_back` are sentences on why it is not confirmed, `against` on what speaks against it, `look_next` and
    `not_checked` features of the library.
    """

    sure: Sure
    leading: Variant | None = None
    likely: tuple[Chance, ...] = ()
    p_none: float | None = None
    holds_back: tuple[str, ...] = ()
    against: tuple[str, ...] = ()
    look_next: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()


class Looked(NamedTuple):
    """One look at one feature."""

    feature: str
    value: str
    seen: Seen
    by: str
    at: str
    entry: int
    carried: str | None = None

    @property
    def is_answer(self) -> bool:
        """Whether anything could be seen."""
        return self.value != CANNOT_SEE


class Fit(Enum):
    """How a must-match point stands on one part."""

    FITS = "fits"
    DIFFERS = "differs"
    TOLD_ONLY = "told_only"
    NOT_SEEN = "not_seen"
    NOT_STATED = "not_stated"


class Point(NamedTuple):
    """A must-match point: what the variant needs, what was seen on the old part and on the new one."""

    feature: str
    needs: str | None
    old: tuple[Looked, ...]
    new: tuple[Looked, ...]

    @property
    def old_fit(self) -> Fit:
        """How the old part stands."""
        return _fit(self.old, self.needs)

    @property
    def new_fit(self) -> Fit:
        """How the new part stands."""
        return _fit(self.new, self.needs)


@dataclass(frozen=True, kw_only=True)
class OrderSheet:
    """Everything on an order sheet; `sure` is never more than the points that were seen allow."""

    session: Session
    which: Which
    sure: Sure
    variant: Variant | None
    looks: tuple[Looked, ...]
    not_checked: tuple[str, ...]
    points: tuple[Point, ...]
    has_new: bool
    numbers: tuple[tuple[str, ...], ...]
    order_with: tuple[OrderLine, ...]
    photos: tuple[Item, ...]
    readings: int

    @property
    def may_name(self) -> bool:
        """Whether a part number may stand on the sheet at all."""
        return self.sure in (Sure.CONFIRMED, Sure.NARROWED, Sure.NOT_ASKED)


_MOST_LIKELY: Final = 4
_MOST_ASKED: Final = 3


def which_of(found: Identified, variants: Iterable[Variant]) -> Which:
    """The answer of an identification against these variants, as an order sheet tells it."""
    known = {variant.key: variant for variant in variants}
    leads = found.leading[0] if len(found.leading) == 1 else None
    against = [one for one in found.contradictions if one.variant == leads]
    ask = [*(one.feature for one in found.first), *(one.feature for one in found.next[:_MOST_ASKED])]
    return Which(
        sure=Sure(found.verdict.value),
        leading=known[leads] if leads is not None else None,
        likely=tuple(Chance(known[key].title, p) for key, p in found.posterior[:_MOST_LIKELY]),
        p_none=found.p_none,
        holds_back=tuple(holding_text(one) for one in found.holds_back),
        against=tuple(f"{_capital(against_text(one))}." for one in against),
        look_next=tuple(dict.fromkeys(ask)),
        not_checked=found.not_checked,
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def order_sheet(
    session: Session, variant: Variant | None, which: Which | None = None, *, new: Session | None = None
) -> OrderSheet:
    """Gather it.

    Parameters
    ----------
    session : the old part, or the enquiry
    variant : the variant frozen in it, or None
    which : what the identification said; without one the variant stands as it was chosen
    new : the session of the new part, for its must-match points; those seen in `session` itself count too
    """
    answer = which or Which(sure=Sure.NOT_ASKED, leading=variant)
    leading = answer.leading
    looks = looks_in(session)
    beside = (*looks_in(session, WhichPart.NEW), *(looks_in(new) if new is not None else ()))
    points = points_of(leading, looks, beside)
    features = [one.name for one in leading.features] if leading is not None else []
    asked = dict.fromkeys((*features, *answer.not_checked))
    seen = {spelled(look.feature, asked) for look in looks if look.is_answer}
    left = [name for name in asked if name not in seen]
    return OrderSheet(
        session=session,
        which=answer,
        sure=_no_more_than(answer.sure, points),
        variant=leading,
        looks=looks,
        not_checked=tuple(left),
        points=points,
        has_new=new is not None or bool(beside),
        numbers=numbers_of(leading) if leading is not None else (),
        order_with=leading.order_lines if leading is not None else (),
        photos=tuple(item for item in session.items if isinstance(item.body, Photo)),
        readings=sum(isinstance(item.body, Reading) for item in session.items),
    )


def looks_in(session: Session, part: WhichPart = WhichPart.OLD) -> tuple[Looked, ...]:
    """Every look at one of the parts that counts, in the order of the entries."""
    found = [(item, body) for item in session.items if isinstance(body := item.body, FeatureSeen) and body.part is part]
    return tuple(
        Looked(body.name, body.value, body.seen, item.by, item.at, item.n, body.carried) for item, body in found
    )


def points_of(variant: Variant | None, old: Sequence[Looked], new: Sequence[Looked]) -> tuple[Point, ...]:
    """The must-match points of a variant with what was seen of them."""
    features = [one for one in variant.features if one.must_match] if variant is not None else []
    return tuple(Point(one.name, one.this, _of(old, one), _of(new, one)) for one in features)


def _of(looks: Iterable[Looked], feature: Feature) -> tuple[Looked, ...]:
    """The looks at one feature, spelled as the variant spells it where only capitals or blanks differ."""
    answers = (*feature.values, *([feature.this] if feature.this is not None else []), CANNOT_SEE)
    own = [look for look in looks if spelled(look.feature, [feature.name]) == feature.name]
    return tuple(look._replace(feature=feature.name, value=spelled(look.value, dict.fromkeys(answers))) for look in own)


def _fit(looks: Sequence[Looked], needs: str | None) -> Fit:
    """Own looks and photos outrank the telephone; any own look that differs is not outvoted."""
    if needs is None:
        return Fit.NOT_STATED
    answers = [look for look in looks if look.is_answer]
    own = [look for look in answers if look.seen in _LOOKED]
    if any(look.value != needs for look in own):
        return Fit.DIFFERS
    if own:
        return Fit.FITS
    if any(look.value != needs for look in answers):
        return Fit.DIFFERS
    return Fit.TOLD_ONLY if answers else Fit.NOT_SEEN


def _no_more_than(sure: Sure, points: Sequence[Point]) -> Sure:
    """Confirmed only where every must-match point of the old part was seen and fits, whatever the chances say."""
    is_whole = bool(points) and all(point.old_fit is Fit.FITS for point in points)
    return Sure.NARROWED if sure is Sure.CONFIRMED and not is_whole else sure


def numbers_of(variant: Variant) -> tuple[tuple[str, ...], ...]:
    """Each number that no other leads to, with those that took its place, the one to order last."""
    follows = {part.number: part.superseded_by for part in variant.part_numbers}
    ends = {number for number in follows.values() if number is not None}
    first = [part.number for part in variant.part_numbers if part.number not in ends]
    return tuple(_chain(number, follows) for number in first or follows)


def _chain(number: str, follows: Mapping[str, str | None]) -> tuple[str, ...]:
    chain = [number]
    while (after := follows.get(chain[-1])) is not None and after not in chain:
        chain.append(after)
    return tuple(chain)
