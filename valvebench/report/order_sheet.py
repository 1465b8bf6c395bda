"""The order sheet for the counter: what was checked and what was not, which variant that leaves, what to order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from valvebench.bench.ordering import Chance, Fit, Looked, OrderSheet, Point, Sure
from valvebench.model.entry import Photo
from valvebench.model.format import chance_text, stamp_text
from valvebench.model.variant import OrderLine
from valvebench.model.words import JobKind, Seen
from valvebench.report.form import (
    NOT_RECORDED,
    Block,
    Form,
    Head,
    Line,
    Lines,
    Photos,
    Printing,
    Shown,
    Signatures,
    Table,
    Words,
    told,
)
from valvebench.report.form_pdf import form_pdf
from valvebench.report.form_sheet import form_xlsx
from valvebench.report.identity import report_id

SHEET: Final = "Order"
_MOST_PHOTOS: Final = 6
SEEN_TEXT: Final = MappingProxyType(
    {Seen.US: "seen by us", Seen.PHOTO: "seen in a photo", Seen.PHONE: "told by phone, not seen"}
)
FIT_TEXT: Final = MappingProxyType(
    {
        Fit.FITS: "fits",
        Fit.DIFFERS: "differs",
        Fit.TOLD_ONLY: "told, not seen",
        Fit.NOT_SEEN: "not seen",
        Fit.NOT_STATED: "not stated",
    }
)
SURE_TEXT: Final = MappingProxyType(
    {
        Sure.CONFIRMED: "Confirmed",
        Sure.NARROWED: "Not confirmed",
        Sure.CONTRADICTED: "Contradicted",
        Sure.NONE_OF_THESE: "None of these",
        Sure.OPEN: "Open",
        Sure.NOT_ASKED: "Not identified",
    }
)
_POINT_HEADS: Final = (
    *(Head("Must match", 3), Head("Needed", 2), Head("Old part", 3), Head("New part", 3), Head("Fits", 1)),
)
_LOOK_HEADS: Final = (Head("Checked", 3), Head("Found", 3), Head("How", 3), Head("Who and when", 3))
STATEMENT: Final = (
    "This sheet tells what was looked at, and no more. Part numbers and what to order with it are those of the "
    "shop\u2019s own library. Compare old and new part side by side before fitting. The maker\u2019s procedure comes "
    "first."
)
CONFIRMED: Final = (
    "{title}. Every must-match point was seen by us or in a photo and fits, nothing that was seen speaks against it, "
    "and nothing rests on the telephone alone."
)
CHOSEN: Final = "{title}, as it was chosen for this job. It was not compared with the other variants of the library."


def order_form(facts: OrderSheet, printing: Printing) -> Form:
    """The page in words."""
    job = facts.session.job
    noun = "Enquiry" if job.kind is JobKind.ENQUIRY else "Job"
    number = report_id(facts.session, printed_at=printing.printed_at, program=printing.program)
    first = facts.session.entries[0]
    printed = f"printed {stamp_text(printing.printed_at)} by {printing.program}"
    return Form(
        title="Order sheet",
        about=f"{noun} {job.job}, opened {stamp_text(first.at)} by {first.by}.",
        word=SURE_TEXT[facts.sure],
        sentence=sure_words(facts),
        blocks=(
            _to_order(facts),
            _asked_for(facts),
            *_points(facts),
            Table(title="What was checked", heads=_LOOK_HEADS, rows=_looks(facts.looks), none="Nothing was looked at."),
            *_not_checked(facts),
            *_photo_blocks(facts, printing.photos),
            Words(text=STATEMENT, is_quiet=True),
            Signatures(labels=("Checked by: name, signature", "Ordered by: name, signature", "Date, order number")),
        ),
        foot=f"Order sheet {number}, {printed}. End of the order sheet.",
    )


def order_xlsx(facts: OrderSheet, printing: Printing) -> bytes:
    """The bytes of the workbook with the order sheet; the caller saves them."""
    form = order_form(facts, printing)
    return form_xlsx(form, sheet=SHEET, program=printing.program, printed_at=printing.printed_at)


def order_pdf(facts: OrderSheet, printing: Printing) -> bytes:
    """The bytes of the PDF of the order sheet; Qt is loaded only here."""
    return form_pdf(order_form(facts, printing), printed_at=printing.printed_at)


# -- how sure ------------------------------------------------------------------------------


def sure_words(facts: OrderSheet) -> str:
    """Which variant, and never more than was checked; a new part that differs is said first."""
    differing = [point.feature for point in facts.points if facts.has_new and point.new_fit is Fit.DIFFERS]
    warning = f"The new part does not match: {', '.join(differing)}. " if differing else ""
    return warning + _sure(facts)


def _sure(facts: OrderSheet) -> str:
    title = facts.variant.title if facts.variant is not None else ""
    reasons = " ".join((*facts.which.against, *facts.which.holds_back))
    chosen = CHOSEN.format(title=title) if title else "No variant was chosen for this job, and none was identified."
    words = {
        Sure.CONFIRMED: CONFIRMED.format(title=title),
        Sure.NARROWED: f"Most likely {title}, but not confirmed. {reasons or _unseen(facts.points)}",
        Sure.CONTRADICTED: f"{title or 'The likeliest variant'} is closest, but it does not fit. {reasons}",
        Sure.NONE_OF_THESE: f"No variant of the library fits what was seen. {reasons}",
        Sure.OPEN: f"Which variant it is stays open. {_likely(facts.which.likely, facts.which.p_none)} {reasons}",
        Sure.NOT_ASKED: chosen,
    }
    return words[facts.sure].rstrip()


def _unseen(points: Sequence[Point]) -> str:
    names = [point.feature for point in points if point.old_fit is not Fit.FITS]
    return f"Look first at: {', '.join(names)}." if names else "No must-match point is stated for it."


def _likely(likely: Sequence[Chance], p_none: float | None) -> str:
    chances = [f"{one.title} {chance_text(one.p)}" for one in likely]
    if p_none is not None:
        chances.append(f"none of these {chance_text(p_none)}")
    return f"Chances: {'; '.join(chances)}." if chances else ""


# -- blocks --------------------------------------------------------------------------------


def _to_order(facts: OrderSheet) -> Lines:
    with_it = "; ".join(_order_line(line) for line in facts.order_with)
    if not facts.may_name:
        number = told("Part number", "", missing="none is named: which variant it is, is not settled")
        return Lines(title="To order", lines=(number,))
    chains = "; ".join(_chain(chain) for chain in facts.numbers)
    prefix = "" if facts.sure is Sure.CONFIRMED or not chains else f"{_condition(facts)}: "
    return Lines(
        title="To order",
        lines=(
            told("Part number", f"{prefix}{chains}" if chains else "", missing="none in our library"),
            told("Order with it", with_it, missing="nothing named in our library"),
        ),
    )


def _condition(facts: OrderSheet) -> str:
    title = facts.variant.title if facts.variant is not None else ""
    return f"only if it is {title}" if facts.sure is Sure.NARROWED else f"of {title}, not identified"


def _chain(chain: Sequence[str]) -> str:
    """The number to order first."""
    before = ", ".join(reversed(chain[:-1]))
    return f"{chain[-1]} (takes the place of {before})" if before else chain[-1]


def _order_line(line: OrderLine) -> str:
    number = f" {line.number}" if line.number else ""
    return f"{line.text}{number}" + (f" ({line.note})" if line.note else "")


def _asked_for(facts: OrderSheet) -> Lines:
    job = facts.session.job
    lines = (
        told("Customer", job.customer),
        told("Vehicle", job.vehicle),
        told("Part, as read off", job.part),
        told("Batch", job.batch),
        told("Date and trim code", job.trim),
        told("Serial", job.serial),
        told("Shop\u2019s own mark", job.mark),
        Line("Readings", f"{facts.readings} resistances, in the report" if facts.readings else "none taken"),
    )
    return Lines(title="Asked for", lines=lines, columns=2)


def _points(facts: OrderSheet) -> list[Block]:
    if facts.variant is None:
        return []
    rows = tuple(
        (
            point.feature,
            point.needs or NOT_RECORDED,
            _seen(point.old),
            _seen(point.new) if facts.has_new else "not at hand",
            f"{FIT_TEXT[point.old_fit]} / {FIT_TEXT[point.new_fit]}" if facts.has_new else FIT_TEXT[point.old_fit],
        )
        for point in facts.points
    )
    title = f"Old and new part, as {facts.variant.title} needs it"
    return [Table(title=title, heads=_POINT_HEADS, rows=rows, none="No must-match point is stated for it.")]


def _seen(looks: Sequence[Looked]) -> str:
    return "\n".join(f"{look.value}, {SEEN_TEXT[look.seen]}" for look in looks) or "not looked at"


def _looks(looks: Sequence[Looked]) -> tuple[tuple[str, ...], ...]:
    return tuple((look.feature, look.value, SEEN_TEXT[look.seen], _who(look)) for look in looks)


def _who(look: Looked) -> str:
    """Who and when; of a look that was carried over, also who it was at first."""
    kept = f"{look.by}, {stamp_text(look.at)}, entry {look.entry}"
    return f"{kept}; carried over from {look.carried}" if look.carried else kept


def _not_checked(facts: OrderSheet) -> list[Block]:
    must = {point.feature for point in facts.points}
    names = [f"{name} (must match)" if name in must else name for name in facts.not_checked]
    texts = [f"{', '.join(names)}." if names else "", _look_next(facts.which.look_next)]
    text = " ".join(part for part in texts if part)
    return [Words(title="Not checked", text=text or "Nothing that the library asks for is left.")]


def _look_next(features: Sequence[str]) -> str:
    return f"Look next at: {', '.join(features)}." if features else ""


def _photo_blocks(facts: OrderSheet, photos: Mapping[str, bytes]) -> list[Block]:
    taken = [(item, item.body) for item in facts.photos if isinstance(item.body, Photo)]
    shown = [(f"{body.of}, entry {item.n}", photos.get(body.sha256)) for item, body in taken[:_MOST_PHOTOS]]
    more = [f"entry {item.n}: {body.of}" for item, body in taken[_MOST_PHOTOS:]]
    gone = " (not there, or not as it was)"
    pictures = tuple(Shown(caption + ("" if raw else gone), raw) for caption, raw in shown)
    blocks: list[Block] = [Photos(title="Photos", shown=pictures)] if pictures else []
    return [*blocks, Words(text=f"Further photos: {'; '.join(more)}.", is_quiet=True)] if more else blocks
