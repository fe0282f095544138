"""A plank sawn up by a list of cuts; shares no line with the room that finds the cuts."""

NEAR = 1e-4
"""Layouts are worked out to a millionth of a millimetre."""


def close(a, b):
    return all(abs(p - q) < NEAR for p, q in zip(a, b, strict=True))


def edges(r):
    return r.x0, r.y0, r.x1, r.y1


def saw_up(plank, cuts, kerf):
    """Saw a plank by a list of cuts; every part that is left. Shares no line with the room that found the cuts."""
    parts = [edges(plank)]
    for cut in cuts:
        x0, y0, x1, y1 = edges(cut.part)
        at = next(n for n, part in enumerate(parts) if close(part, (x0, y0, x1, y1)))  # one that there is by now
        del parts[at]
        bx0, by0, bx1, by1 = edges(cut.kerf)
        if cut.way == "rip":
            assert close((bx0, bx1), (x0, x1)), "a cut from edge to edge"
            assert abs(by0 - y0 - cut.set_to) < NEAR
            wide, halves, end = by1 - by0, [(x0, y0, x1, by0), (x0, by1, x1, y1)], y1 - by1
        else:
            assert close((by0, by1), (y0, y1)), "a cut from edge to edge"
            assert abs(bx0 - x0 - cut.set_to) < NEAR
            wide, halves, end = bx1 - bx0, [(x0, y0, bx0, y1), (bx1, y0, x1, y1)], x1 - bx1
        beyond = end < NEAR or cut.set_to < NEAR  # the blade hangs over the part's edge
        assert wide <= kerf + NEAR if beyond else abs(wide - kerf) < NEAR
        parts += [half for half in halves if half[2] - half[0] > NEAR and half[3] - half[1] > NEAR]
    return parts


def comes_out(plank, places, cuts, kerf):
    """Whether every blank is a part of its own in the end."""
    parts = saw_up(plank, cuts, kerf)
    return all(sum(close(part, edges(place)) for part in parts) == 1 for place in places)
