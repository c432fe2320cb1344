"""A stored cone reading as the bend it was said to be."""

from studiolog.craft.firing.bend import BendReading, parse_bend
from studiolog.problems import UserProblem


def bend_as_said(low_deg: float, high_deg: float, said: str) -> BendReading:
    """The reading of a stored interval in degrees, with the middle of what was said.

    "Standing" spans 0 to 20° but means 5°: half of its span would read as a cone that has moved.
    """
    try:
        read = parse_bend(said) if said.strip() else None
    except UserProblem:
        read = None
    if read is not None and (read.low_deg, read.high_deg) == (low_deg, high_deg):
        return read
    return BendReading(low_deg, high_deg, (low_deg + high_deg) / 2, said)
