"""What a hanger holds [N]: a thread or glue in the wood, a ring that opens, the wire itself; each as a range.

Knows the rules and the table of woods. Nothing here is a promise.
"""

from dataclasses import dataclass
from math import pi

from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class Holds:
    """Pull that breaks it [N]: low, likely and high; ``by`` is what gives way, ``under`` the conditions, in words."""

    low: float
    likely: float
    high: float
    by: str
    under: str = ""


def weakest(*ways: Holds) -> Holds:
    """The way that gives first, by its likely pull, and never above what the others bear at their low and high ends.

    Examples
    --------
    >>> weakest(Holds(40.0, 80.0, 120.0, "wood"), Holds(60.0, 70.0, 90.0, "ring"))
    Holds(low=40.0, likely=70.0, high=90.0, by='ring', under='')
    """
    first = min(ways, key=lambda way: way.likely)
    low, high = min(way.low for way in ways), min(way.high for way in ways)
    return Holds(min(low, first.likely), first.likely, max(high, first.likely), first.by, first.under)


def screw_withdrawal(g12: float, diameter: float, thread: float) -> float:
    """Pull that draws a wood screw out of side grain, 108.25 G^2 D L [N]; D and the thread's length L in mm.

    References
    ----------
    Wood Handbook (FPL-GTR-190), chapter 8, recalled: ``hardware.toml`` [withdrawal].

    Examples
    --------
    >>> round(screw_withdrawal(0.37, 1.5748, 19.05), 1)   # basswood, 0.062 in, 3/4 in
    444.6
    """
    return float(load("hardware")["withdrawal"]["k_n_mm2"] * g12**2 * diameter * thread)


def allowable_withdrawal(gravity: float, diameter: float, thread: float) -> float:
    """What a building code lets a wood screw in side grain be drawn with, 2850 SG^2 D lbf/in [N]; sizes in mm.

    References
    ----------
    ``screw_allowable_page`` of ``sources.toml``, with its example; the ultimate pull is 5.5 times this.

    Examples
    --------
    >>> round(allowable_withdrawal(0.45, 0.190 * 25.4, 25.4) / 4.4482216, 2)   # published: 109 lbf an inch
    109.65
    """
    psi = 0.45359237 * 9.80665 / 25.4**2  # one lbf/in^2 [MPa], exact
    return float(load("holding")["screw"]["allowable_lbf_in2"] * psi * gravity**2 * diameter * thread)


def wood_shear(species: str | None, density: float) -> float | None:
    """Shear strength along the grain, dry [MPa]; None where the table has no row for the wood.

    Balsa's goes by the ``density`` of the board at hand [g/cm^3], as it runs three to one.

    References
    ----------
    Wood Handbook (FPL-GTR-190), chapter 5; each row of ``holding.toml`` says whether it was read or recalled.

    Examples
    --------
    >>> wood_shear("basswood", 0.41), wood_shear(None, 0.41)
    (6.8, None)
    """
    table = load("holding")
    row = table["wood_shear"].get(species or "")
    if row is None:
        return None
    share = 1000 * density / table["shear"]["balsa_kg_m3"] if species == "balsa" else 1.0
    return float(row["mpa"]) * share


def screw_eye_holds(
    g12: float, diameter: float, thread: float, shear: float | None, *, end_grain: bool = False
) -> Holds:
    """Pull that draws a screw eye out of dry or damp wood: the screw's formula by 0.4 to 0.9, as an eye is no screw.

    ``end_grain`` for nose and tail: 0.6 of side grain. Never above the shear of the wood round the thread.

    References
    ----------
    As ``screw_withdrawal``; the factor is judgement, common practice (``holding.toml`` [screw_eye]).

    Examples
    --------
    >>> eye = screw_eye_holds(0.37, 1.5748, 19.05, 6.8)
    >>> round(eye.likely, 1), round(eye.high, 1)   # 0.6 and 0.9 of 444.6 N
    (266.7, 400.1)
    """
    table = load("holding")
    grain = table["screw"]["end_grain_factor"] if end_grain else 1.0
    whole = screw_withdrawal(g12, diameter, thread) * grain
    ceiling = float("inf") if shear is None else shear * pi * diameter * thread
    low, likely, high = (min(factor * whole, ceiling) for factor in table["screw_eye"]["eye_factor"])
    grain_words, (least, _, most) = "end" if end_grain else "side", table["screw_eye"]["eye_factor"]
    words = f"thread in {grain_words} grain, {least:g} to {most:g} of the wood screw's rule, low end wet"
    return Holds(low * table["screw"]["wet_factor"], likely, high, "thread in the wood", words)


def glued_holds(hole: float, length: float, shear: float, around: float, *, shaped: bool) -> Holds:
    """Pull that draws a glued wire out of its hole along itself: the wood round the hole, or the bond to the steel.

    Parameters
    ----------
    hole, length : float
        Diameter of the hole and how deep the wire is in it [mm].
    shear : float
        Of the dry wood along the grain [MPa].
    around : float
        Outline of what is glued in [mm]: pi d of one wire, (pi + 2) d of two legs, 2 pi d of two twisted.
    shaped : bool
        Twisted or bent, so that it holds by its shape.

    References
    ----------
    ``epoxy_hardware_page`` of ``sources.toml``; the factors of smooth wire are judgement (``holding.toml`` [epoxy]).

    Examples
    --------
    >>> twisted = glued_holds(2.6, 20.0, 6.8, 2 * pi * 1.0414, shaped=True)
    >>> round(twisted.likely)   # basswood, as the table's example
    576
    """
    epoxy, wood = load("holding")["epoxy"], load("holding")["shear"]
    glue = epoxy["shear_mpa"]
    low, middle, high = epoxy["shaped_factor" if shaped else "smooth_factor"]
    likely = middle if shaped else epoxy["smooth_counts"]

    def pull(share: float, strength: float) -> float:
        return float(min(pi * hole * length * min(strength, glue), around * length * glue * share))

    soaked, cov = wood["soaked_over_dry"], wood["cov"]
    worst, best = pull(low, shear * soaked * (1 - cov)), pull(high, shear * (1 + cov))
    how = "twisted" if shaped else "smooth and straight, abraded"
    return Holds(worst, pull(likely, shear), best, "glue in the hole", f"epoxy all along, wire {how}, low end soaked")


def ring_opens(wire: float, loop: float, yield_mpa: float) -> Holds:
    """Pull that opens an eye which is not closed, Y d^3/6 over the ring's mean radius [N]; sizes in mm.

    Derived here: the full plastic moment of a round wire.

    Examples
    --------
    >>> round(ring_opens(1.5748, 4.775, 900.0).likely)
    185
    """
    opens = yield_mpa * wire**3 / (6 * (loop + wire) / 2)
    low, high = load("holding")["screw_eye"]["opening_spread"]
    return Holds(low * opens, opens, high * opens, "the ring opens", "not soldered or glued shut")


def wire_break(size: str | None, legs: int = 1) -> Holds | None:
    """Pull that breaks the bent wire itself [N]; None for a size whose strength no table has.

    References
    ----------
    ``astm_a313_table`` of ``sources.toml``, the least tensile strength; what a bend leaves of it is common practice.

    Examples
    --------
    >>> round(wire_break("0.041 in").likely), wire_break("0.092 in")
    (808, None)
    """
    row = next((r for r in load("wire")["tensile"]["sizes"] if r["size"] == size), None)
    if row is None:
        return None
    low, likely, high = (legs * factor * float(row["break_n"]) for factor in load("holding")["through"]["bent_factor"])
    return Holds(low, likely, high, "the wire breaks", "at a bend")
