"""Spring-back: how much tighter and farther a wire is bent than it is to stay, and which pin it is bent round.

Knows one elastic and fully plastic round wire. Work hardening is not in it, so that half of it either way is said,
unless the maker has bent the wire and measured.
"""

from dataclasses import dataclass
from math import pi

from bodygen.form.wire.bends import WireBend
from bodygen.recipe.model import TrialBend
from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class Bending:
    """How a bend is made: round a ``pin`` [mm], by ``angle`` [rad], from which it opens by ``opens`` [rad].

    ``released`` is the bend as it stays, ``springs`` the curvature that it gives back [1/mm]. All angles are without
    sign but that of ``released``.
    """

    pin: float
    angle: float
    opens: float
    released: WireBend
    springs: float


def spring_curvature(wire: float) -> float:
    """How much curvature a bent wire gives back on release [1/mm], whatever its radius.

    Derived here from the published rule that the bending moment is given back elastically: a fully plastic round wire
    carries Y d^3/6, and E pi d^4/64 is its stiffness, so 64/(6 pi) Y/(E d).

    References
    ----------
    The rule: ``springback_sheet`` of ``sources.toml``; Y and E as ``wire.toml`` [spring_back].

    Examples
    --------
    >>> round(1 - 1.5 * spring_curvature(1.0), 4)   # Ri/Rf of a wire of 1 mm round an inside radius of 1 mm
    0.9591
    """
    row = load("wire")["spring_back"]
    return float(64 / (6 * pi) * row["y_mpa"] / (row["e_mpa"] * wire))


def measured_curvature(trial: TrialBend, wire: float) -> float:
    """How much curvature a trial bend gave back [1/mm]: its length stays, so its curvature falls as its angle does.

    Derived here, as ``spring_curvature``, which it stands for at every radius.

    Examples
    --------
    >>> round(measured_curvature(TrialBend(3.0, pi / 2, 0.9455 * pi / 2), 1.0), 4)   # as computed
    0.0272
    """
    return (1 - trial.stays / trial.bent_to) / ((trial.pin + wire) / 2)


def released_radius(bent: float, springs: float) -> float:
    """Radius to the wire's middle after release of one that was bent to ``bent`` [mm] and ``springs`` back [1/mm].

    Elementary: the curvature that it gives back is taken off.

    Examples
    --------
    >>> round(released_radius(1.5, spring_curvature(1.0)), 3)
    1.564
    """
    return 1 / (1 / bent - springs)


def bow(springs: float, held: float) -> tuple[float, float]:
    """How far a wire bows beside a bend while it is held bent, over ``held`` straight mm [rad]: least and most.

    Derived here: the moment falls from the plastic one at the bend, whose curvature ``springs`` back [1/mm], to nothing
    where it is pushed. Pushed at the stop itself the chord leaves the bend's end by a third of ``springs * held``,
    pushed far beyond it by half.

    Examples
    --------
    >>> [round(angle, 4) for angle in bow(0.03, 6.0)]
    [0.06, 0.09]
    """
    return springs * held / 3, springs * held / 2


def bending_of(bend: WireBend, wire: float, trial: TrialBend | None = None) -> Bending:
    """The pin to buy and the angle to bend to, so that the wire stays as it is drawn; by its ``trial`` where one is.

    The length in the bend stays, so its angle shrinks as its curvature does. The pin is the nearest that is sold.

    Examples
    --------
    >>> made = bending_of(WireBend(pi / 2, 1.0), 1.0)
    >>> made.pin, round(made.angle * 180 / pi, 1)
    (1.9, 93.7)
    """
    row = load("wire")["block"]
    wanted = bend.inside + wire / 2
    springs = spring_curvature(wire) if trial is None else measured_curvature(trial, wire)
    ideal = 2 / (1 / wanted + springs) - wire
    pin = max(row["least_pin_mm"], round(ideal / row["pin_step_mm"]) * row["pin_step_mm"])
    bent = (pin + wire) / 2
    stays = released_radius(bent, springs)
    angle = abs(bend.angle) * stays / bent
    released = WireBend(bend.angle, stays - wire / 2, bend.out)
    return Bending(round(pin, 3), angle, angle - abs(bend.angle), released, springs)
