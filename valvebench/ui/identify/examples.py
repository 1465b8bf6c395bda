"""What the library shows of the feature that is asked: one photo for each value, read beside the window.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from valvebench.model.errors import BadInput, BenchError
from valvebench.ui.keeper import Runs

if TYPE_CHECKING:
    from valvebench.bench.identifying import Identifying


class ExampleShown(NamedTuple):
    """One photo, decoded, with the value it shows and the variant it comes from."""

    value: str
    title: str
    image: Any

    @property
    def sentence(self) -> str:
        """For a reader."""
        return f"Photo: {self.value}, as on {self.title}"


class ExamplesView(Protocol):
    """What is asked of the page."""

    def show_examples(self, examples: Sequence[ExampleShown]) -> None:
        """Photos of the values of the feature at hand; none takes them away."""
        ...


class FeatureExamples:
    """Keeps the page at the photos of the feature that was asked for last."""

    def __init__(self, view: ExamplesView, runner: Runs, *, decoded: Callable[[bytes], Any]) -> None:
        self._view, self._runner, self._decoded = view, runner, decoded
        self._of: tuple[Identifying, str] | None = None

    def show(self, knows: Identifying, feature: str | None, *, has_any: bool) -> None:
        """The photos of a feature; `has_any` is whether the library names one at all."""
        wanted = (knows, feature) if feature is not None and has_any else None
        if wanted == self._of:
            return
        self._of = wanted
        self._view.show_examples(())
        if wanted is None:
            return

        def done(found: Sequence[ExampleShown]) -> None:
            if wanted == self._of:
                self._view.show_examples(found)

        self._runner.run(lambda: self._read(*wanted), done=done, failed=_not_shown)

    def _read(self, knows: Identifying, feature: str) -> list[ExampleShown]:
        """A photo that cannot be read is left out: the question stands without it."""
        shown = []
        for one in knows.pictures_of(feature):
            try:
                shown.append(ExampleShown(one.value, one.title, self._decoded(one.raw)))
            except BadInput:
                continue
        return shown


def _not_shown(error: Exception) -> None:
    """That the library cannot be read is said where the part is identified."""
    if not isinstance(error, BenchError):
        raise error
