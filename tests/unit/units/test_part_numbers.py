import pytest

from fencegrade.units.part_numbers import numbered


@pytest.mark.parametrize(
    ("indices", "text"),
    [
        ([0], "post 1"),
        ([0, 1], "posts 1-2"),
        ([2, 3, 4, 6], "posts 3-5, 7"),
        (range(0, 16, 2), "posts 1, 3, 5, 7, 9, 11 and 2 more stretches"),
    ],
)
def test_ranges(indices: list[int], text: str) -> None:
    assert numbered("post", list(indices)) == text
