"""Bent wires of random recipes: hangers in the bores that take them, a through-wire in a kerf, near misses included."""

from random_tables import Doc, Maker, Size

from bodygen.recipe.readers.items import sizes
from bodygen.recipe.readers.wire import HOLDS_WIRE, wire_diameter


def add_wires(m: Maker, size: Size, doc: Doc) -> None:
    """Add what may be bent of wire to a whole recipe, and say sometimes what the line breaks at."""
    holding = [bore["name"] for bore in doc.get("bore", []) if bore.get("name") and bore["kind"] in HOLDS_WIRE]
    taken = {fitting.get("on") for fitting in doc.get("fitting", [])}
    made = [_hanger(m, size, name) for name in holding if name not in taken and m.often(0.4)]
    kerfs = [slot.get("name", f"wire slot {number}") for number, slot in enumerate(doc.get("wire_slot", []), 1)]
    if kerfs and m.often(0.6):
        made.append(_through_wire(m, size, m.any(*kerfs)))
    if made:
        doc["fitting"] = [*doc.get("fitting", []), *made]
    if "line" in doc and m.often(0.5):
        doc["line"]["strength"] = m.mass(m.between(1000, 30_000))


def _hanger(m: Maker, size: Size, bore: str) -> Doc:
    sold = m.any(*sizes("wire"))
    wire = wire_diameter(sold)
    bent: Doc = {
        "form": m.any("belly_hanger", "line_tie", "twisted_hanger"),
        "loop": m.length(wire * m.between(1.5, 6)),
    }
    if m.often(0.4):
        bent["radius"] = m.length(wire * m.between(0.8, 3) + 0.2)
    if m.often(0.4):
        bent["leg"] = m.length(0.4 + size[1] * m.between(0.1, 0.6))
    if bent["form"] == "twisted_hanger" and m.often(0.5):
        bent["turns"] = m.any(1, 2, 3.5, 6)
    if m.often(0.2):
        bent["trial_bend"] = {
            "pin": m.length(wire * m.between(1, 5)),
            "bent_to": "90 deg",
            "stays": m.any(70, "86 deg"),
        }
    return {"kind": "wire", "size": sold, "on": bore, "stage": "hangers", "bent": bent}


def _through_wire(m: Maker, size: Size, kerf: str) -> Doc:
    length, depth, _ = size
    sold = m.any(*sizes("wire"))
    wire = wire_diameter(sold)
    bent: Doc = {"form": "through_wire", "loop": m.length(wire * m.between(1.5, 5)), "kerf": kerf}
    if m.often(0.5):
        bent["start"] = m.length(length * m.between(0.1, 0.3))
    if m.often(0.5):
        bent["eye_at"] = m.length(length * m.between(0.4, 0.65))
    if m.often(0.3):
        bent["height"] = m.length(depth * m.between(-0.05, 0.05))
    if m.often(0.3):
        bent["tail"] = m.length(m.between(1.5, 10))
    return {"kind": "wire", "size": sold, "stage": "hangers", "bent": bent}
