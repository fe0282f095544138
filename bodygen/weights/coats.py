"""Coats on the skin: what dries on it, what soaks into it, and what the maker's scale said they gained.

Knows ``coatings.toml`` and the skin's area. A film lies outside the wood and pushes water aside; what soaks in weighs
inside the skin and pushes none.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum
from typing import Any

from bodygen import tables
from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.integrals import SkinIntegrals
from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Coat, Recipe
from bodygen.tables import catalogue
from bodygen.weights.item import MM3_PER_CM3, Item
from bodygen.weights.learned import coat_lot
from bodygen.weights.spread import Cause, triangular, triangular_mean

MM2_PER_100CM2 = 1e4


@dataclass(frozen=True, slots=True)
class _Layer:
    """One ``[[coat]]``: film in all [mm] with its spread [mm], soak [g] with its spread [g], film density [g/cm^3].

    ``differs`` is how much benches differ in the film, as a share of it [-]; None where the gain was weighed.
    """

    film: float
    film_spread: float
    soak: float
    soak_spread: float
    density: float
    basis: str
    differs: float | None = None


def coat_items(recipe: Recipe, skin: SkinIntegrals) -> tuple[Item, ...]:
    """Film [g, mm^3] and soak [g] of every coat, in shop order.

    The first coat that reaches bare wood and has a soak in its table row soaks in, once; later ones find it sealed.

    Elementary: a film so thin that it lies on the skin; its thickness is its row's, which names its source.

    Raises
    ------
    DesignError
        A coat whose thickness neither the recipe nor the table says.

    Examples
    --------
    >>> import numpy as np
    >>> from bodygen.recipe.model import Stations
    >>> skin = SkinIntegrals(3000.0, np.zeros(3), np.eye(3))
    >>> varnish = Coat("varnish", "two_part_epoxy", "cleared", coats=2, film=0.1)   # 1.15 g/cm^3
    >>> (film,) = coat_items(Recipe("bar", "mm", Stations("bar.csv", ()), coats=(varnish,)), skin)
    >>> film.displaces, film.mass
    (600.0, 0.69)
    """
    items: list[Item] = []
    bare = True
    for place, coat in sorted(enumerate(recipe.coats), key=lambda row: STAGES.index(row[1].stage)):
        layer = _layer(coat, f"coat[{place + 1}]", skin.area, bare=bare)
        bare = False
        if layer.film > 0:
            items.append(_film(coat, layer, skin, place))
        if layer.soak > 0:
            items.append(_soaked(coat, layer, skin, place))
    return tuple(items)


def film_of(coats: Sequence[Coat]) -> float:
    """How thick all coats together stand on the skin [mm].

    Elementary: the sum of what each leaves; of a gain without a film nothing is said without an area, so it counts 0.

    Examples
    --------
    >>> film_of([Coat("varnish", "two_part_epoxy", "cleared", coats=2, film=0.1)])
    0.2
    """
    return sum(_layer(coat, "coat", 1.0, bare=False).film for coat in coats if coat.gain is None or coat.film)


def default_density(stage: str) -> float:
    """Mean density of the dry films that the table has for a stage [g/cm^3], for a gain whose finish is not named.

    Each row of ``coatings.toml`` names its source.

    Examples
    --------
    >>> default_density("painted")   # of 1.5, 1.3 and 1.3
    1.3667
    """
    return _mean([catalogue.density(row) for row in _rows(stage)])


def _mean(values: list[float]) -> float:
    return fsum(values) / len(values)  # the library's statistics takes longer to load than a bait to weigh


def _rows(stage: str) -> list[dict[str, Any]]:
    rows = tables.load("coatings")["coat"].values()
    return [row for row in rows if stage in row["stage"].split(" or ")]


def coat_findings(recipe: Recipe) -> tuple[Finding, ...]:
    """Note the coats weighed without saying what they are: their volume rests on the usual density [g/cm^3]."""
    return tuple(
        Finding(
            "coat-unnamed",
            "note",
            f"coat[{number}]",
            "its volume is taken from the mean density of the finishes for this stage: say finish or density_g_cm3",
            value=default_density(coat.stage),
            unit="g/cm^3",
        )
        for number, coat in enumerate(recipe.coats, 1)
        if coat.finish is None and coat.density_g_cm3 is None
    )


def _layer(coat: Coat, key: str, area: float, *, bare: bool) -> _Layer:
    row = None if coat.finish is None else catalogue.row("coatings", "coat", coat.finish, f"{key}.finish")
    density = coat.density_g_cm3 or (default_density(coat.stage) if row is None else catalogue.density(row))
    soak, soak_spread = 0.0, 0.0
    if bare and row is not None and "soak_g_per_100cm2" in row:
        low, typical, high = (share * area / MM2_PER_100CM2 for share in row["soak_g_per_100cm2"])
        soak, soak_spread = triangular_mean(low, typical, high), triangular(low, typical, high)
    source = f"{density:.2f} g/cm^3" if row is None else f"{row['name']}: {row['source']}"
    if coat.gain is not None:
        return _gained(coat, area, density, soak, source)
    if coat.film is not None:
        differs = _differs(row) if row else _mean([_differs(row) for row in _rows(coat.stage)])
        return _Layer(coat.film * coat.coats, 0.0, soak, soak_spread, density, source, differs)
    if row is None:
        msg = f"{key} ({coat.name}): say finish, film or gain; nothing tells how thick it is."
        raise DesignError(msg)
    low, typical, high = (thickness * coat.coats for thickness in row["dry_mm"])
    film, film_spread = triangular_mean(low, typical, high), triangular(low, typical, high)
    return _Layer(film, film_spread, soak, soak_spread, density, source, _differs(row))


def _differs(row: dict[str, Any]) -> float:
    """Standard deviation of a row's film as a share of its mean [-]."""
    low, typical, high = (float(v) for v in row["dry_mm"])
    return triangular(low, typical, high) / triangular_mean(low, typical, high)


def _gained(coat: Coat, area: float, density: float, soak: float, source: str) -> _Layer:
    """Share a measured gain between film and wood: the film that was given, else all that the usual soak leaves."""
    gain = float(coat.gain or 0.0)
    dry = coat.film * coat.coats * area * density / MM3_PER_CM3 if coat.film is not None else max(gain - soak, 0.0)
    dry = min(dry, gain)
    film = dry * MM3_PER_CM3 / density / area
    return _Layer(film, 0.0, gain - dry, 0.0, density, f"gain of {gain:g} g weighed; {source}")


def _film(coat: Coat, layer: _Layer, skin: SkinIntegrals, place: int) -> Item:
    """Book the film, so thin that its mass lies on the skin: the skin's centre and its areal inertia."""
    per_area = layer.film * layer.density / MM3_PER_CM3  # g/mm^2
    spread = layer.film_spread * layer.density / MM3_PER_CM3 * skin.area
    return Item(
        coat.name,
        coat.stage,
        mass=per_area * skin.area,
        at=skin.centroid,
        displaces=layer.film * skin.area,
        displaces_at=skin.centroid,
        inertia=per_area * skin.inertia,
        outside=layer.film * skin.area,
        volume_follows=True,
        spread=spread,
        cause=Cause("film", coat.finish or "") if spread else None,
        basis=f"{1000 * layer.film:.0f} um on {skin.area / 100:.1f} cm^2; {layer.basis}",
        lot="" if layer.differs is None else coat_lot(coat.stage),
        lot_share=layer.differs or 0.0,
        kind="film",
        owner=("coat", place),
    )


def _soaked(coat: Coat, layer: _Layer, skin: SkinIntegrals, place: int) -> Item:
    return Item(
        f"{coat.name}, soaked in",
        coat.stage,
        mass=layer.soak,
        at=skin.centroid,
        displaces=0.0,
        displaces_at=skin.centroid,
        inertia=layer.soak / skin.area * skin.inertia,
        spread=layer.soak_spread,
        cause=Cause("soak", coat.finish or "") if layer.soak_spread else None,
        basis=layer.basis,
        lot=coat_lot(coat.stage) if layer.soak_spread else "",
        lot_share=layer.soak_spread / layer.soak,
        kind="soak",
        owner=("coat", place),
    )
