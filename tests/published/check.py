"""One row of the comparison with the outside world; docs/checks.md is made of these."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Check:
    """A number from outside the project against what Drystow computes.

    name: what is compared, readable in a table
    got: what Drystow computes
    expected: the published number, or (low, high) for a published band
    tolerance: allowed difference, relative (rel) or absolute (abs); ignored for a band
    kind: "rel", "abs" or "band"
    unit: unit of the numbers
    source: key in sources.toml
    where: table, page, example or function in the source
    mark: read, memory, common practice, calc or library (an independent library computed it during the test)
    why: why this tolerance
    """

    name: str
    got: float
    expected: float | tuple[float, float]
    tolerance: float = 0.0
    kind: str = "rel"
    unit: str = ""
    source: str = ""
    where: str = ""
    mark: str = "read"
    why: str = ""

    @property
    def error(self) -> float:
        """Return the difference, relative for kind rel; distance outside the band for a band."""
        if isinstance(self.expected, tuple):
            low, high = self.expected
            return max(low - self.got, self.got - high, 0.0)
        if self.kind == "rel":
            return abs(self.got - self.expected) / abs(self.expected)
        return abs(self.got - self.expected)

    @property
    def holds(self) -> bool:
        """Return whether the difference is within the tolerance."""
        return self.error <= (0.0 if isinstance(self.expected, tuple) else self.tolerance)
