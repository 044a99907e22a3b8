"""The top of any style."""

from fencegrade.fence.tops.asked import TopChoice, TopWish
from fencegrade.fence.tops.contour import choose_contour
from fencegrade.fence.tops.level import choose_level
from fencegrade.fence.tops.racked import choose_racked
from fencegrade.fence.tops.sloped import choose_sloped
from fencegrade.fence.tops.stepped import choose_stepped
from fencegrade.job.records import TopStyle

_CHOOSE = {
    TopStyle.LEVEL: choose_level,
    TopStyle.SLOPED: choose_sloped,
    TopStyle.STEPPED: choose_stepped,
    TopStyle.RACKED: choose_racked,
    TopStyle.CONTOUR: choose_contour,
}


def choose_top(style: TopStyle, wish: TopWish) -> TopChoice:
    """The best top of a style for one run.

    `wish`: for a stepped top its slots are those of `stepped_slots`; stepped and racked ones need its posts.
    Errors: ValueError where the run lies outside the readings.
    """
    return _CHOOSE[style](wish)
