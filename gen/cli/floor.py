"""The accuracy to keep, as the command line says it."""

from __future__ import annotations

from gen.core.errors import InkdriftError


def check_floor(floor: float) -> None:
    """Refuse what is no accuracy.

    Raises
    ------
    InkdriftError
        If it isn't over 0 and at most 1.

    Examples
    --------
    >>> check_floor(0.9)
    """
    if not 0 < floor <= 1:
        percent = 1 < floor <= 100
        raise InkdriftError(
            "--floor",
            "not an accuracy",
            got=f"{floor:g}",
            allowed="over 0 and at most 1",
            hint=f"{floor / 100:g}, if {floor:g} % is meant" if percent else None,
        )
