"""A number that reaches a person carries its unit, its range and where it came from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

SourceTag = Literal["published", "common_practice", "from_memory", "shop_data", "invented"]

SOURCE_WORDS: dict[str, str] = {
    "published": "published",
    "common_practice": "common practice, no source",
    "from_memory": "from memory",
    "shop_data": "from the shop's own records",
    "invented": "invented for the demonstration",
}


@dataclass(frozen=True)
class Figure:
    """One number with its 90 % range, unit and source.

    ``low`` and ``high`` are the 5 % and 95 % points of what an informed person believes;
    both default to ``value`` (known exactly).  A published figure must name its source.

    Raises ValueError when the range excludes the value or a published figure has no citation.
    """

    value: float
    unit: str
    source: SourceTag
    low: float | None = None
    high: float | None = None
    citation: str = ""

    __pydantic_config__: ClassVar[dict[str, object]] = {"extra": "forbid", "strict": False}

    def __post_init__(self) -> None:
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        if not low <= self.value <= high:
            raise ValueError(
                f"the range {low:g} to {high:g} does not contain the value {self.value:g}"
            )
        if self.source == "published" and not self.citation:
            raise ValueError("a published figure needs a citation: where was it published?")
        object.__setattr__(self, "low", low)
        object.__setattr__(self, "high", high)

    @property
    def range(self) -> tuple[float, float]:
        """(low, high) as floats, never None."""
        return (
            self.value if self.low is None else self.low,
            self.value if self.high is None else self.high,
        )

    def words(self) -> str:
        """The figure as a person reads it: value, range, unit and source."""
        low, high = self.range
        span = "" if low == high else f" ({low:g} to {high:g})"
        unit = "" if self.unit == "1" else f" {self.unit}"
        origin = SOURCE_WORDS[self.source]
        cited = f": {self.citation}" if self.citation else ""
        return f"{self.value:g}{span}{unit} [{origin}{cited}]"
