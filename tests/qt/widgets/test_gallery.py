from __future__ import annotations

import pytest
from PySide6.QtGui import QImage

from tests import gallery
from valvebench.ui import theme


@pytest.mark.parametrize("page", sorted(gallery.PAGES))
def test_every_page_is_drawn_in_every_palette_and_zoom(qapp, tmp_path, page):
    assert gallery.render(qapp, tmp_path, only=page) == len(theme.THEMES) * len(gallery.ZOOMS)
    pictures = [QImage(str(path)) for path in sorted(tmp_path.iterdir())]
    assert all(not picture.isNull() and picture.width() > 100 for picture in pictures)
