"""Records of the job from what stands in `job.toml`."""

from collections.abc import Callable
from typing import Any, TypeVar

T = TypeVar("T")


def written(kind: Callable[..., T], **keys: Any) -> T:
    """A record of some kind whose keys hold what a builder types, such as "8 ft"; the record reads them."""
    return kind(**keys)
