"""``[[mask]]``: regions of the skin that are painted by themselves; which keys go with which kind.

Knows what a mask may say. Knows nothing of where that lies on the body (``shop/masks/``).
"""

from collections.abc import Iterable

from bodygen.recipe.model import Mask
from bodygen.recipe.readers.bores import one_name_each
from bodygen.recipe.text.read_context import ReadContext, Values

_BAND = ("start", "end", "low", "high")
GOES_WITH = {
    "back": _BAND,
    "flank": _BAND,
    "belly": _BAND,
    "bars": (*_BAND, "count", "width", "slant"),
    "gill": ("low", "high", "width", "x"),
    "eye": ("width",),
}


def read_masks(ctx: ReadContext, found: Iterable[tuple[str, Values, bool]]) -> tuple[Mask, ...]:
    """Make the masks; a key of another kind, or an end before its beginning, is noted."""
    masks: list[Mask] = []
    counts: dict[str, int] = {}
    names: dict[str, str] = {}
    for path, values, clean in found:
        kind = values.get("kind")
        if kind is None:
            continue
        counts[kind] = counts.get(kind, 0) + 1
        values.setdefault("name", kind if counts[kind] == 1 else f"{kind} {counts[kind]}")
        one_name_each(ctx, path, values["name"], names)
        before = len(ctx.mistakes)
        for key in values:
            if key not in ("kind", "name", *GOES_WITH[kind]):
                ctx.fault(f"{path}.{key}", f'does not go with kind = "{kind}".', ", ".join(GOES_WITH[kind]))
        for first, last, words in (("start", "end", "behind the start"), ("low", "high", "above low")):
            if first in values and last in values and values[last] <= values[first]:
                ctx.fault(f"{path}.{last}", f"not {words}.", f"more than {path}.{first}")
        if clean and len(ctx.mistakes) == before:
            masks.append(Mask(**values))
    return tuple(masks)
