"""What lies in the holes: metal, glue, filler, air, or the water that will come in.

Knows metals, bores and slots. A cavity closed ``filled`` is made up with glue or filler, ``sealed`` holds air and
pushes water aside without weighing anything, ``open`` floods. Hardware that lies in it takes its volume from what is
left.
"""

from dataclasses import replace

from bodygen import tables
from bodygen.findings import Finding, PartKey
from bodygen.form.integrals import VolumeIntegrals
from bodygen.recipe.model import Bore, BoreKind, Closed, Fill, Recipe
from bodygen.tables import catalogue
from bodygen.weights.item import MM3_PER_CM3, CavityKey, Item, solid, steiner
from bodygen.weights.learned import metal_lot
from bodygen.weights.measured import BoreCavity, Measured
from bodygen.weights.spread import Cause, scale_division, uniform

CLOSED_AS: dict[BoreKind, Closed] = {  # common practice, no published source
    "hanger": "filled",
    "tie": "filled",
    "eye": "filled",
    "ballast": "filled",
    "rattle": "sealed",
    "through": "open",
    "any": "open",
}
STAGE_OF: dict[BoreKind, str] = {  # when a cavity is closed: the order of work, common practice
    "hanger": "hangers",
    "tie": "hangers",
    "eye": "painted",
    "ballast": "ballast",
    "rattle": "ballast",
    "through": "sealed",
    "any": "sealed",
}
GLUE = "two_part_epoxy"  # row of coatings.toml: what sets round wire, eyes and the lip's tongue
FILLER = "filler_putty"  # row of coatings.toml: what covers ballast and fills other holes
GLUED: frozenset[BoreKind] = frozenset({"hanger", "tie", "eye"})
# A metal's table row by how it is placed, where that is another row than the one named
PLACED_AS = {
    ("lead", "poured"): "lead_hand_poured",
    ("lead_cast_slug", "putty"): "tungsten_putty",
}


def closed_as(bore: Bore) -> Closed:
    """Say what becomes of the space that metal and hardware leave: as the recipe says, else as usual for the kind."""
    return bore.closed or CLOSED_AS[bore.kind]


def metal_row(fill: Fill) -> str:
    """Name the row of ``metals.toml`` that a fill weighs by: lead poured by hand is lighter than the handbook's."""
    return PLACED_AS.get((fill.metal, fill.placed), fill.metal)


def metal_density(fill: Fill) -> float:
    """Density that a fill weighs by [g/cm^3].

    The row of ``metals.toml`` names its source.

    Examples
    --------
    >>> metal_density(Fill("lead")), metal_density(Fill("lead", "poured"))   # voids
    (11.34, 10.85)
    """
    return catalogue.density(catalogue.row("metals", "metal", metal_row(fill), "bore.fill.metal"))


def slug_share(bore: Bore, fill: Fill) -> float:
    """Section of a slug over that of its bore [-]: 1 but for the clearance on the diameter; 0 where that takes it all.

    Elementary: areas go as the squares of diameters.

    Examples
    --------
    >>> slug_share(Bore("b", "ballast", "belly", 10.0, 12.0), Fill(clearance=1.0))
    0.81
    """
    clearance = fill.clearance if fill.placed == "slug" else 0.0
    return max(1 - clearance / bore.diameter, 0.0) ** 2


def bore_name(bore: Bore, cavity: BoreCavity) -> str:
    """Name the bore, or the pair's other flank."""
    return f"{bore.name}, other side" if cavity.mirrored else bore.name


def metal_item(bore: Bore, fill: Fill, cavity: BoreCavity, metal: VolumeIntegrals) -> Item:
    """Weigh the ballast in one bore [g, mm^3]; a mass off the maker's scale wins over volume times density.

    A slug with clearance is the bore's own shape, thinner: volume and inertia scale with its section.

    Elementary.

    Examples
    --------
    >>> import numpy as np
    >>> metal = VolumeIntegrals(200.0, np.zeros(3), np.zeros((3, 3)))
    >>> bore, cavity = Bore("b", "ballast", "belly", 10.0, 12.0), BoreCavity(0, False, np.zeros(3), metal, metal)
    >>> metal_item(bore, Fill("lead"), cavity, metal).mass, metal_item(bore, Fill("lead", mass=2.2), cavity, metal).mass
    (2.268, 2.2)
    """
    name = metal_row(fill)
    row = catalogue.row("metals", "metal", name, "bore.fill.metal")
    density = catalogue.density(row)
    low, high = catalogue.bounds(row)
    shape = _scaled(metal, slug_share(bore, fill))
    weighed = fill.mass is not None
    if fill.mass is not None and shape.volume > 0:
        density = fill.mass * MM3_PER_CM3 / shape.volume
    basis = f"mass as given in the recipe ({row['name']})" if weighed else f"{row['name']}: {row['source']}"
    item = solid(
        "metal", ("bore", cavity.index), f"{bore_name(bore, cavity)}: {name}", "ballast", shape, density, basis
    )
    if weighed:
        return item
    share = uniform(low, high) / density
    item = replace(item, lot=metal_lot(name), lot_share=max(share, _voids()) if fill.placed == "poured" else share)
    return replace(item, spread=share * item.mass, cause=Cause("metal", name)) if share > 0 else item


def _voids() -> float:
    """How much pours by hand differ from bench to bench, as a share of their mass [-]: as lead does."""
    row = catalogue.row("metals", "metal", PLACED_AS["lead", "poured"], "bore.fill.metal")
    return uniform(*catalogue.bounds(row)) / catalogue.density(row)


def left_over(cavity: VolumeIntegrals, taken: VolumeIntegrals | None, hardware: float) -> VolumeIntegrals | None:
    """Part of a cavity that neither ``taken`` nor a ``hardware`` volume [mm^3] fills; None where nothing is left.

    Where in the cavity hardware lies is not known: it thins what is left evenly.

    Elementary: volumes and moments taken away.

    Examples
    --------
    >>> import numpy as np
    >>> cavity = VolumeIntegrals(1000.0, np.zeros(3), np.zeros((3, 3)))
    >>> left_over(cavity, None, 250.0).volume, left_over(cavity, None, 1000.0)
    (750.0, None)
    """
    rest = cavity if taken is None else _remainder(cavity, taken)
    if rest is None or rest.volume - hardware < 1e-6 * cavity.volume:
        return None
    return _scaled(rest, 1 - hardware / rest.volume)


def closing(
    owner: PartKey,
    cavity: CavityKey,
    name: str,
    stage: str,
    closed: Closed,
    rest: VolumeIntegrals | None,
    *,
    glued: bool,
) -> tuple[Item, ...]:
    """Close the rest of a cavity with glue or filler [g, mm^3], air, or nothing (water comes in).

    Common practice, no published source.

    Examples
    --------
    >>> import numpy as np
    >>> rest = VolumeIntegrals(500.0, np.zeros(3), np.zeros((3, 3)))
    >>> (air,) = closing(("bore", 0), ("bore", 0), "rattle", "ballast", "sealed", rest, glued=False)
    >>> (filler,) = closing(("bore", 0), ("bore", 0), "b", "ballast", "filled", rest, glued=False)   # 1.0 g/cm^3
    >>> (air.mass, air.displaces), (filler.mass, filler.displaces)
    ((0.0, 500.0), (0.5, 500.0))
    """
    if rest is None or closed == "open":
        return ()
    if closed == "sealed":
        return (replace(solid("closing", owner, f"{name}: air", stage, rest, 0.0, "sealed empty"), cavity=cavity),)
    row_name = GLUE if glued else FILLER
    row = catalogue.row("coatings", "coat", row_name, "closed")
    what = "glue" if glued else "filler"
    basis = f"{row['name']}: {row['source']}"
    item = solid("closing", owner, f"{name}: {what}", stage, rest, catalogue.density(row), basis)
    return (replace(item, cavity=cavity),)


def bore_items(bore: Bore, cavity: BoreCavity, place: int, hardware: float) -> tuple[Item, ...]:
    """Metal and closing of the bore at a ``place`` of ``Measured``, with ``hardware`` [mm^3] of wire or eye in it.

    Elementary: what the metal leaves of the cavity, and ``closing``'s usage.
    """
    fill = bore.fill
    key: CavityKey = ("bore", place)
    metal = None
    items: tuple[Item, ...] = ()
    if fill is not None and cavity.metal is not None and cavity.metal.volume > 0:
        metal = _scaled(cavity.metal, slug_share(bore, fill))
        items = (replace(metal_item(bore, fill, cavity, cavity.metal), cavity=key),)
    rest = left_over(cavity.cavity, metal, hardware)
    glued = bore.kind in GLUED or (fill is not None and fill.placed == "slug" and fill.clearance > 0)
    owner, name = ("bore", cavity.index), bore_name(bore, cavity)
    return items + closing(owner, key, name, STAGE_OF[bore.kind], closed_as(bore), rest, glued=glued)


def fill_findings(recipe: Recipe, measured: Measured) -> tuple[Finding, ...]:
    """Doubt ballast: a mass [g] that its metal can't have in that cavity, a pour whose voids nobody has measured.

    The row of ``metals.toml`` names the source of its bounds.
    """
    out: list[Finding] = []
    for cavity in measured.bores:
        bore = recipe.bores[cavity.index]
        if bore.fill is None or cavity.mirrored:
            continue
        where = f"bore[{cavity.index + 1}].fill"
        row = catalogue.row("metals", "metal", metal_row(bore.fill), f"{where}.metal")
        if bore.fill.placed == "poured" and metal_row(bore.fill) == bore.fill.metal and not row.get("effective"):
            lead = tables.load("metals")["metal"]
            share = lead["lead_hand_poured"]["density_kg_m3"] / lead["lead"]["density_kg_m3"]
            remedy = (
                f"voids are not counted; lead poured by hand keeps {100 * share:.0f} % of its density: weigh the pour"
            )
            out.append(
                Finding("pour-solid", "note", f"{where}.metal", remedy, source=str(lead["lead_hand_poured"]["source"]))
            )
        out.extend(_implied(bore, bore.fill, cavity, where))
    return tuple(out)


def _implied(bore: Bore, fill: Fill, cavity: BoreCavity, where: str) -> tuple[Finding, ...]:
    """Hold a weighed fill against the cavity it is said to fill."""
    if fill.mass is None or cavity.metal is None or not cavity.metal.volume > 0:
        return ()
    row = catalogue.row("metals", "metal", metal_row(fill), f"{where}.metal")
    low, high = catalogue.bounds(row)
    volume = cavity.metal.volume * slug_share(bore, fill)
    implied = fill.mass * MM3_PER_CM3 / volume
    step = scale_division() * MM3_PER_CM3 / volume  # what the last digit of the maker's scale is worth
    low, high = low - step, high + step
    if low <= implied <= high:
        return ()
    needed = fill.mass * MM3_PER_CM3 / catalogue.density(row)
    remedy = (
        f"{fill.mass:g} g of {row['name']} takes {needed / 1000:.3f} cm^3, the filled part holds {volume / 1000:.3f}:"
        f" {'deepen the bore' if implied > high else 'lower the level'} or weigh again"
    )
    limit = high if implied > high else low
    return (Finding("fill-mass", "warning", f"{where}.mass", remedy, implied, limit, "g/cm^3", str(row["source"])),)


def _scaled(shape: VolumeIntegrals, share: float) -> VolumeIntegrals:
    """Keep place and form, and hold ``share`` of the volume."""
    return VolumeIntegrals(shape.volume * share, shape.centroid, shape.inertia * share)


def _remainder(whole: VolumeIntegrals, part: VolumeIntegrals) -> VolumeIntegrals | None:
    """``whole`` without ``part`` of it, by taking moments away; None where no more than rounding is left."""
    volume = whole.volume - part.volume
    if volume < 1e-6 * whole.volume:
        return None
    centroid = (whole.volume * whole.centroid - part.volume * part.centroid) / volume
    inertia = (
        whole.inertia
        + whole.volume * steiner(whole.centroid - centroid)
        - part.inertia
        - part.volume * steiner(part.centroid - centroid)
    )
    return VolumeIntegrals(volume, centroid, inertia)
