"""What one measurement of ``make bench`` says."""

from dataclasses import asdict, dataclass


@dataclass(frozen=True, slots=True)
class Result:
    """One ratio measured in this run.

    ``ratio`` and ``target`` have the same unit: times the baseline, or bytes where the baseline is
    "1 byte". ``target`` reads like "≤ 0.10" or "≥ 1.8". ``detail`` says what else was seen, for
    example a growth exponent.
    """

    name: str
    ratio: float
    target: str
    baseline: str
    rounds: int
    detail: str = ""

    @property
    def reached(self) -> bool:
        """Whether the target is reached, read from its sign and figure."""
        sign, figure = self.target.split()[:2]
        return self.ratio <= float(figure) if sign == "≤" else self.ratio >= float(figure)

    def line(self) -> str:
        """One row of the printed table."""
        mark = "reached" if self.reached else "NOT reached"
        detail = f"; {self.detail}" if self.detail else ""
        return (
            f"{self.name}: {self.ratio:.4g} ({self.target}: {mark}) "
            f"of {self.baseline} ({self.rounds} rounds{detail})"
        )

    def as_plain(self) -> dict[str, object]:
        """For JSON."""
        return {**asdict(self), "reached": self.reached}
