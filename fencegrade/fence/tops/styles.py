"""The top of any style: finds the file named as the style's row in the table."""

from collections.abc import Sequence
from importlib import import_module

from fencegrade.fence.tops.asked import Corner, TopChoice, TopWish
from fencegrade.fence.tops.table import TopStyle


def choose_top(style: TopStyle, wish: TopWish) -> TopChoice:
    """The best top of a style for one run by itself.

    `wish`: its slots start afresh at each post where the style is `by_bay`. Errors: ValueError where the run
    lies outside the readings.
    """
    choice: TopChoice = _file(style).choose(wish)
    return choice


def choose_tops(
    styles: Sequence[TopStyle], wishes: Sequence[TopWish], corners: Sequence[Corner]
) -> tuple[TopChoice, ...]:
    """The best top of each run, in the style of each (n,).

    `wishes` (n,): one a run, all on one datum; `corners`: where runs join, a closed yard included. Runs of
    one style that `meets` are chosen together, so that their tops meet at those corners; should that fail,
    and at corners of two styles, each run has the best top of its own. Errors: as `choose_top`.
    """
    found: dict[int, TopChoice] = {}
    for style in dict.fromkeys(styles):
        meeting = [c for c in corners if styles[c[0]] is style and styles[c[1]] is style]
        if style.meets and meeting:
            found |= _met(style, wishes, meeting)
    return tuple(
        found[k] if k in found else choose_top(style, wish)
        for k, (style, wish) in enumerate(zip(styles, wishes, strict=True))
    )


def _met(style: TopStyle, wishes: Sequence[TopWish], corners: Sequence[Corner]) -> dict[int, TopChoice]:
    """Tops that meet at all of `corners`, by run; none where the style's own search finds none."""
    runs = sorted({run for corner in corners for run in corner})
    own = [(runs.index(a), runs.index(b)) for a, b in corners]
    choices: Sequence[TopChoice] | None = _file(style).choose_meeting([wishes[k] for k in runs], own)
    return dict(zip(runs, choices, strict=True)) if choices is not None else {}


def _file(style: TopStyle):  # type: ignore[no-untyped-def]  # a module, known by its name alone
    return import_module(f"{__package__}.{style}")
