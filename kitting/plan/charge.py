"""The charge at which a new module may be joined to those that stand, as the family has it.

The figures are the family's own: modules of unequal charge that are joined send a current from one
to the other that nothing limits. No published figure; the maker's manual decides.
"""

from dataclasses import dataclass

from kitting.plan.reading import Table


@dataclass(frozen=True, slots=True)
class Charge:
    """How alike the charges must be, and between which bounds."""

    match_percent: int
    """Percentage points by which modules that are joined may differ."""
    low: int
    high: int
    """Percent; both ends may be joined at."""

    def words(self) -> str:
        """What has to be done, as one sentence."""
        return (
            f"Bring new modules and those that stand to within {self.match_percent} percentage "
            f"points of each other, between {self.low} % and {self.high} %, and enter what each "
            f"shows before they are joined; the maker's manual decides."
        )

    def fault(self, percent: int, beside: tuple[int, ...]) -> str:
        """Why a module of this charge may not be joined to modules of those, "" if it may.

        >>> Charge(5, 25, 35).fault(30, (27, 34)), Charge(5, 25, 35).fault(34, (27,))
        ('', 'expected within 5 percentage points of 27 %, got 34 %')
        """
        if not self.low <= percent <= self.high:
            return f"expected {self.low} % to {self.high} %, got {percent} %"
        far = [other for other in beside if abs(other - percent) > self.match_percent]
        if far:
            return (
                f"expected within {self.match_percent} percentage points of {far[0]} %, "
                f"got {percent} %"
            )
        return ""


def parse(table: Table | None) -> Charge | None:
    """The optional [charge] table; faults go to the table."""
    if table is None:
        return None
    low = table.whole("join_low", 0, 100)
    found = Charge(table.whole("match_percent", 1, 100), low, table.whole("join_high", low, 100))
    table.finish()
    return found
