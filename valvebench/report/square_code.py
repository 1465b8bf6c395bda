"""A text as a square code (ISO/IEC 18004) that any telephone reads."""

from __future__ import annotations

import io
from typing import Any, Final

QUIET_MODULES: Final = 4
"""White all around, in modules, as the standard asks for."""
_LARGEST_BYTES: Final = 1200
"""More would need a telephone held very still: common practice, no source."""


def modules_of(text: str) -> tuple[tuple[bool, ...], ...]:
    """Rows of modules, true is dark, without the white around; nothing for a text too long for a small label."""
    code = _made(text)
    return tuple(tuple(bool(module) for module in row) for row in code.matrix) if code is not None else ()


def png_of_code(text: str, *, module_px: int = 6) -> bytes | None:
    """The code as a PNG, its white included; None for a text too long for a small label."""
    code = _made(text)
    if code is None:
        return None
    buffer = io.BytesIO()
    code.save(buffer, kind="png", scale=module_px, border=QUIET_MODULES)
    return buffer.getvalue()


def _made(text: str) -> Any:
    import segno

    # UTF-8 said by the code itself, or a reader takes letters beyond ASCII for others
    if not text or len(text.encode("utf-8")) > _LARGEST_BYTES:
        return None
    return segno.make_qr(text, error="m", encoding="utf-8", boost_error=False, eci=not text.isascii())
