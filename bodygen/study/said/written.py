"""How a value of a varied key is written into a recipe, and read off it again."""

from bodygen.study.said.model import Normal, Range, Value, Values, Varied

DIGITS = 9
"""Significant digits of a drawn value: what properties.json has."""


def written(one: Varied, number: float) -> str:
    """Write a number of a varied key as a recipe has it, with its unit.

    >>> written(Varied("lip.angle", Range(35.0, 45.0), "deg", "lip_angle_deg"), 36.5)
    '36.5 deg'
    """
    if one.whole:
        return str(round(number))
    return f"{number:.{DIGITS}g} {one.unit}" if one.unit else f"{number:.{DIGITS}g}"


def levels(one: Varied) -> int | None:
    """Say how many values a key takes; None where it takes any between two."""
    match one.spread:
        case Values(texts=texts):
            return len(texts)
        case Range(steps=steps):
            return steps
        case Normal():
            return None


def level(one: Varied, place: int) -> str:
    """Give the text of one of its values, counted from 0."""
    match one.spread:
        case Values(texts=texts):
            return texts[place]
        case Range(low=low, high=high, steps=int(steps)):
            return written(one, low + (high - low) * place / (steps - 1))
        case _:
            msg = f"{one.key} takes any value between two"
            raise ValueError(msg)


def first_text(one: Varied) -> str:
    """Give one of its values, whichever."""
    match one.spread:
        case Values(texts=texts):
            return texts[0]
        case Range(low=low):
            return written(one, low)
        case Normal(mean=mean):
            return written(one, mean)


def value_of(one: Varied, text: str) -> Value:
    """Read a text back: a number in the column's unit, or the text where the key takes none.

    >>> value_of(Varied("lip.angle", Values(("0.5 rad",), (28.65,)), "deg", "lip_angle_deg"), "0.5 rad")
    28.65
    """
    if isinstance(one.spread, Values):
        return one.spread.numbers[one.spread.texts.index(text)] if one.spread.numbers else text
    number = text.split(maxsplit=1)[0]
    return int(number) if one.whole else float(number)
