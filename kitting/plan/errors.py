"""What can go wrong between a text and a kit: every fault at once, each with its place."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault of a file or a configuration."""

    where: str
    """File and table, as "tower.toml: rule 'R7'"; or "configuration"."""
    key: str
    """The key at fault; empty where the whole table is."""
    message: str
    """Expected X, got Y."""

    def __str__(self) -> str:
        """The fault in one line.

        >>> str(Fault("a.toml: family", "", "expected a table, got 3"))
        'a.toml: family: expected a table, got 3'
        """
        return (
            f"{self.where}: {self.key}: {self.message}"
            if self.key
            else f"{self.where}: {self.message}"
        )


class PlanError(ValueError):
    """Something given cannot be used; `faults` holds every reason."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in faults))


class FamilyError(PlanError):
    """A family file that cannot be read as a family."""


class ConfigurationError(PlanError):
    """A configuration that asks for what the family does not know."""
