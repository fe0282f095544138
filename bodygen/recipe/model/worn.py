"""What is hung on, brushed over and painted by itself."""

from dataclasses import dataclass
from typing import Literal

from bodygen.recipe.model.body import Point3

MaskKind = Literal["back", "flank", "belly", "bars", "gill", "eye"]


BentForm = Literal["belly_hanger", "line_tie", "twisted_hanger", "through_wire"]


@dataclass(frozen=True, slots=True)
class TrialBend:
    """A bend made and measured: round a ``pin`` [mm], ``bent_to`` an angle of which so much ``stays`` [rad]."""

    pin: float
    bent_to: float
    stays: float


@dataclass(frozen=True, slots=True)
class Bent:
    """``[fitting.bent]``: the form of a wire [mm]; None: as is usual, or as the bore or kerf has it.

    ``loop`` is the inside diameter of its eyes, ``radius`` the inside radius of its other bends, ``leg`` how deep a
    hanger's legs go in and ``turns`` how often they are twisted. The others are a through-wire's: the name of its
    ``kerf``, the ``height`` of its middle, where its front end is bent over (``start``; None: an eye at the nose),
    where an eye comes out of the mouth (``eye_at``), and how long the ``tail`` beside each end's eye is.
    ``trial_bend`` tells how the wire springs back.
    """

    form: BentForm
    loop: float
    radius: float | None = None
    leg: float | None = None
    turns: float | None = None
    kerf: str | None = None
    height: float | None = None
    start: float | None = None
    eye_at: float | None = None
    tail: float | None = None
    trial_bend: TrialBend | None = None


@dataclass(frozen=True, slots=True)
class Fitting:
    """``[[fitting]]``: a thing of known mass at a known place [g, mm, cm^3].

    ``kind`` "weight" is the general form and says everything itself. For "hook", "ring", "eye", "screw_eye" and "wire"
    the table fills in ``mass`` and ``displaces_cm3`` from ``size`` (and ``length`` for wire) where silent.
    ``at``: where its weight acts; of what hangs, the eye it hangs from. ``on`` names a bore instead: ``at`` is then
    found from its mouth (``form/cuts/hung.py``). ``length``: of a wire along its bends, of a hook from end to end;
    ``gape``: of a hook, from point to shank [mm].
    ``bent``: a wire's form, from which its ``length``, ``at`` and ``outside`` are worked out there: the share of it
    that stands outside the wood [-].
    """

    name: str
    kind: Literal["weight", "hook", "ring", "eye", "screw_eye", "wire"]
    at: Point3
    stage: str
    mass: float | None = None
    displaces_cm3: float | None = None
    size: str | None = None
    length: float | None = None
    quantity: int = 1
    mirror: bool = False
    on: str | None = None
    gape: float | None = None
    bent: Bent | None = None
    outside: float = 0.0


@dataclass(frozen=True, slots=True)
class Coat:
    """``[[coat]]``: a finish of the table, or what it weighed.

    ``coats`` of it, each ``film`` thick [mm], or a measured ``gain`` in all [g]. ``dries_as`` is a row of
    ``finishes.toml`` where the usual one of the finish is not meant; ``after_h``: how long the coat below is left [h].
    Dipped, it has a ``viscosity`` by name and is drawn out at ``draw_speed`` [m/s].
    """

    name: str
    finish: str | None
    stage: str
    coats: int = 1
    film: float | None = None
    density_g_cm3: float | None = None
    gain: float | None = None
    dries_as: str | None = None
    after_h: float | None = None
    viscosity: str | None = None
    draw_speed: float | None = None


@dataclass(frozen=True, slots=True)
class Mask:
    """``[[mask]]``: a region of the skin that is painted by itself; None: the usual of ``tables/masks.toml``.

    ``start`` and ``end`` bound it along x [mm]; ``low`` and ``high`` are shares of the depth there, 0 at the belly and
    1 at the back [-]. ``count`` bars, each ``width`` wide along the body [mm] and tipped by ``slant``, upper end aft
    [rad]. A gill stands at ``x``, its band ``width`` wide; an eye's ring reaches ``width`` beyond its bore [mm].
    """

    kind: MaskKind
    name: str
    start: float | None = None
    end: float | None = None
    low: float | None = None
    high: float | None = None
    count: int | None = None
    width: float | None = None
    slant: float | None = None
    x: float | None = None
