"""How sure a published figure is, and where it comes from."""

from enum import StrEnum

from msgspec import Struct


class Mark(StrEnum):
    """How a figure was come by."""

    SEEN = "seen"
    RESTATED = "seen in a source that restates the document"
    MEMORY = "not checked against the document"
    PRACTICE = "common practice, no source"


class Source(Struct, frozen=True, kw_only=True):
    """Where a figure comes from: the document, and how it was come by."""

    document: str
    mark: Mark

    def __str__(self) -> str:
        return f"{self.document} ({self.mark})" if self.document else str(self.mark)


PRACTICE = Source(document="", mark=Mark.PRACTICE)
