"""Sheets into loads."""


def split_sheets(sheets: int, per_load: int) -> tuple[int, ...]:
    """Full loads first, the rest last.

    Domain: both at least 1.  Raises: ValueError.
    Example:
    >>> split_sheets(6, 4)
    (4, 2)
    """
    if sheets < 1 or per_load < 1:
        raise ValueError(f"{sheets} sheets in loads of {per_load}")
    full, rest = divmod(sheets, per_load)
    return (per_load,) * full + ((rest,) if rest else ())
