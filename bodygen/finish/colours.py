"""Colours by the names of an open standard. Knows ``colours.toml``."""

from bodygen import tables


def colour_name(srgb: str) -> str:
    """The name of a colour ``#rrggbb``; the same again where it has none.

    References
    ----------
    CSS Color Module Level 4, section 6.1.

    Examples
    --------
    >>> colour_name("#6b8e23"), colour_name("#6b8e24")
    ('olivedrab', '#6b8e24')
    """
    known: dict[str, str] = tables.load("colours")["colour"]["srgb"]
    return next((name for name, value in known.items() if value == srgb), srgb)
