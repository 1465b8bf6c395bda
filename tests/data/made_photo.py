"""A made-up photo of a casting, drawn: grey metal, oil passages, a hole for each port.  Nothing in it is real."""

from __future__ import annotations

import io
import random
from collections.abc import Iterable

from PIL import Image, ImageDraw, ImageFilter

Place = tuple[float, float]


def made_photo(holes: Iterable[Place] = (), *, size: tuple[int, int] = (1200, 800), form: str = "JPEG") -> bytes:
    """The bytes of the picture; `holes` are fractions of it."""
    chance, (wide, high) = random.Random(7), size
    image = Image.effect_noise(size, 34).convert("L").point(lambda grey: 70 + grey // 3)
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle((wide * 0.03, high * 0.05, wide * 0.97, high * 0.95), high * 0.08, outline=190, width=10)
    for _ in range(14):
        left, top = chance.uniform(0.08, 0.7) * wide, chance.uniform(0.1, 0.85) * high
        box = (left, top, left + chance.uniform(0.1, 0.25) * wide, top + chance.uniform(0.03, 0.06) * high)
        draw.rounded_rectangle(box, 20, fill=chance.choice((48, 58, 165)), outline=185, width=4)
    for x, y in holes:
        middle, radius = (x * wide, y * high), 0.02 * wide
        draw.ellipse(
            (middle[0] - radius, middle[1] - radius, middle[0] + radius, middle[1] + radius), fill=20, outline=200
        )
    out = io.BytesIO()
    image.filter(ImageFilter.GaussianBlur(2.5)).convert("RGB").save(out, form)
    return out.getvalue()
