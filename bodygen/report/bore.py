"""How much metal fits a bore, both ways, in words and as JSON."""

from typing import Any

from bodygen.ballast.bore import DepthTo, bore_mass, bore_volume, depth_for_mass
from bodygen.form.bore_words import to_words
from bodygen.recipe.model import Tip, Units
from bodygen.tables import load
from bodygen.units import length_text, mass_text


def bore_document(
    diameter: float, metal: str, tip: Tip, depth_to: DepthTo, depth: float | None, mass: float | None
) -> dict[str, Any]:
    """The bore that is asked about: given its ``depth`` [mm], or the ``mass`` that it is to hold [g].

    Raises
    ------
    DesignError
        No such metal, no such bore, or a mass that the drill's point alone holds.
    """
    if depth is None:
        depth = depth_for_mass(mass or 0.0, diameter, metal, tip, depth_to)
    return {
        "format": 1,
        "diameter_mm": diameter,
        "depth_mm": depth,
        "depth_to": "flat" if tip == "flat" else depth_to,
        "metal": metal,
        "volume_cm3": bore_volume(diameter, depth, tip, depth_to) / 1000,
        "mass_g": bore_mass(diameter, depth, metal, tip, depth_to),
    }


def bore_text(document: dict[str, Any], units: Units) -> str:
    """One line, and where it stops being true."""
    flat = document["depth_to"] == "flat"
    to = f" {to_words('flat' if flat else 'twist', 'shoulder' if flat else document['depth_to'])}"
    deep, wide = length_text(document["depth_mm"], units), length_text(document["diameter_mm"], units)
    cautions = load("cautions")
    titles = [cautions["caution"][key]["title"] for key in load("metals")["metal"][document["metal"]]["cautions"]]
    return (
        f"{wide} wide, {deep} deep{to}: {document['volume_cm3']:.3f} cm3,"
        f" {mass_text(document['mass_g'], units)} of {document['metal'].replace('_', ' ')}\n"
        "A mouth on a curved skin holds less when the metal is filed flush, and hand-poured lead about 4 % less:"
        " `bodygen weigh` counts both.\n"
        f"Take care: {'; '.join(titles)}. {cautions['defer']['text']}\n"
    )
