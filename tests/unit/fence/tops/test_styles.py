"""The way to any style of the table."""

from importlib import import_module

import numpy as np
from top_wishes import build

from fencegrade.fence.tops.styles import choose_top
from fencegrade.fence.tops.table import TopStyle, names_of_styles, style_words
from fencegrade.ground.profile import GroundLine


def test_every_row_of_the_table_has_its_words_and_its_file() -> None:
    for style in TopStyle:
        assert style.words
        file = import_module(f"fencegrade.fence.tops.{style}")
        assert callable(file.choose)
        assert hasattr(file, "choose_meeting") is style.meets
    assert names_of_styles() == f"{', '.join(list(TopStyle)[:-1])} or {list(TopStyle)[-1]}"
    assert style_words([TopStyle.RACKED, TopStyle.LEVEL, TopStyle.RACKED]) == "racked and level"


def test_every_style_by_name(swale: GroundLine) -> None:
    posts = np.arange(7) * 96.0
    wish = build(swale, posts=posts)
    for style in TopStyle:
        choice = choose_top(style, wish)
        assert choice.top.style is style
        assert choice.least_height >= 72 - 1e-6
