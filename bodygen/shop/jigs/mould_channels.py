"""What a mould is made to, and what leads into its cavity: seats for wires and the lip's core, sprue and vents.

Each lies across the mid-plane y = 0 and is its own mirror image there, so each half draws off it. Knows the cavity and
the recipe's cuts. Knows no halves (mould.py).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np

from bodygen.form.cuts import Revolved, Tool, slot_of
from bodygen.form.integrals import Array
from bodygen.shop.lip.plate import LipPlate
from bodygen.tables import as_row, load

SIDES = 48
FAR_MM = 500.0
STEP_MM = 0.25
IN_PLANE = 1e-6


@dataclass(frozen=True, slots=True)
class MouldSize:
    """What a mould is made to; lengths mm, the meanings as in ``tables/mould.toml``; ``draft`` [rad]."""

    shrink_percent: float
    wall: float
    rim: float
    cover: float
    key_base: float
    key_height: float
    key_draft: float
    key_clearance: float
    key_count: int
    gate: float
    gate_share: float
    funnel: float
    funnel_height: float
    vent: float
    vent_shares: tuple[float, ...]
    into: float
    apart: float
    wire_clearance: float
    core: float
    core_least: float
    core_clearance: float

    @property
    def scale(self) -> float:
        """Size of the cavity over the body's [-]."""
        return 1 + self.shrink_percent / 100


def default_mould() -> MouldSize:
    """The sizes of ``tables/mould.toml``: common practice, no published source."""
    table = load("mould")
    key = {f"key_{name}": value for name, value in table["key"].items()}
    return as_row(MouldSize, table["mould"], key, table["channel"], table["seat"])


def wire_seats(
    tools: Sequence[Tool], moved: Callable[[Sequence[float]], Array], size: MouldSize
) -> dict[str, manifold3d.Manifold]:
    """Grooves for wires as thick as the bores of ties and hangers, from each mouth out through the block."""
    seats = {}
    for tool in tools:
        if not isinstance(tool, Revolved) or tool.kind not in ("tie", "hanger"):
            continue
        if abs(tool.origin[1]) > IN_PLANE or abs(tool.axis[1]) > IN_PLANE:
            continue
        mouth, axis = moved(tool.origin), np.array(tool.axis)
        radius = (tool.diameter + size.wire_clearance) / 2
        rod = manifold3d.Manifold.cylinder(FAR_MM, radius, circular_segments=SIDES).translate((0.0, 0.0, -size.into))
        out = np.column_stack([np.cross((0.0, 1.0, 0.0), -axis), (0.0, 1.0, 0.0), -axis, mouth])
        seats[f"{tool.name} seat"] = rod.transform(out)
    return seats


def lip_core(
    tools: Sequence[Tool], plate: LipPlate | None, moved: Callable[[Sequence[float]], Array], size: MouldSize
) -> tuple[manifold3d.Manifold | None, manifold3d.Manifold | None]:
    """A bar of the slot's own thickness and the tongue's width lying flat, and the seat that holds it in the slot."""
    slot = slot_of(tools)
    if slot is None or plate is None:
        return None, None
    gap = size.core_clearance
    length, thick = max(slot.depth + size.core, size.core_least), plate.slot_thickness
    held = length - slot.depth
    core = manifold3d.Manifold.cube((length, plate.tongue_width, thick))
    seat = manifold3d.Manifold.cube((length + 2 * gap, plate.tongue_width + 2 * gap, thick + 2 * gap))
    seat = seat.translate((-held - gap, -plate.tongue_width / 2 - gap, -thick / 2 - gap))
    along, normal = np.array(slot.along), np.array(slot.normal)
    return core, seat.transform(np.column_stack([along, np.cross(normal, along), normal, moved(slot.origin)]))


def pouring(
    cavity: manifold3d.Manifold, seats: dict[str, manifold3d.Manifold], top: float, thickness: float, size: MouldSize
) -> dict[str, manifold3d.Manifold]:
    """The sprue over the highest place of the back that is free, vents over every other hump and near both ends."""
    x, back = _back_line(cavity)
    seen = [np.array(seat.bounding_box()) for seat in seats.values() if seat.bounding_box()[5] >= top]
    taken = [(box[0], box[3]) for box in seen]

    def free(reach: float) -> Array:
        clear = np.ones(len(x), dtype=bool)
        for a, b in taken:
            clear &= (x < a - reach - size.apart) | (x > b + reach + size.apart)
        return clear

    gate = min(size.gate, size.gate_share * thickness) / 2
    allowed = free(size.funnel / 2)
    at = int(np.argmax(np.where(allowed, back, -np.inf))) if allowed.any() else int(np.argmax(back))
    taken.append((x[at] - size.funnel / 2, x[at] + size.funnel / 2))
    neck = max(top - size.funnel_height, back[at])
    low = back[at] - size.into
    sprue = manifold3d.Manifold.cylinder(neck - low, gate, circular_segments=SIDES).translate((x[at], 0.0, low))
    cone = manifold3d.Manifold.cylinder(top - neck, gate, size.funnel / 2, SIDES).translate((x[at], 0.0, neck))
    over = manifold3d.Manifold.cylinder(1.0, size.funnel / 2, circular_segments=SIDES).translate((x[at], 0.0, top))
    channels = {"sprue": sprue + cone + over}
    humps = [i for i in range(1, len(x) - 1) if back[i - 1] < back[i] >= back[i + 1]]
    wanted = [x[i] for i in humps] + [x[0] + share * (x[-1] - x[0]) for share in size.vent_shares]
    for place in wanted:
        allowed = free(size.vent / 2)
        if not allowed.any():
            break
        i = int(np.argmin(np.where(allowed, np.abs(x - place), np.inf)))
        if abs(x[i] - place) > size.funnel:
            continue  # the hump that the sprue stands on
        low = back[i] - size.into
        rod = manifold3d.Manifold.cylinder(top + 1.0 - low, size.vent / 2, circular_segments=SIDES)
        channels[f"vent {len(channels)}"] = rod.translate((x[i], 0.0, low))
        taken.append((x[i] - size.vent / 2, x[i] + size.vent / 2))
    return channels


def in_mid_plane(solid: manifold3d.Manifold) -> manifold3d.CrossSection:
    """The section at y = 0, as (x, z)."""
    return solid.transform(np.array([[1.0, 0, 0, 0], [0, 0, 1.0, 0], [0, -1.0, 0, 0]])).slice(0.0)


def _back_line(cavity: manifold3d.Manifold) -> tuple[Array, Array]:
    """Stations x (k,) and the back's height over each [mm]."""
    chains = in_mid_plane(cavity).to_polygons()
    start = np.concatenate(chains)
    end = np.concatenate([np.roll(chain, -1, axis=0) for chain in chains])
    x = np.arange(start[:, 0].min() + STEP_MM, start[:, 0].max() - STEP_MM / 2, STEP_MM)
    crossed = (start[:, 0] <= x[:, None]) != (end[:, 0] <= x[:, None])
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (x[:, None] - start[:, 0]) / (end[:, 0] - start[:, 0])
        z = np.where(crossed, start[:, 1] + share * (end[:, 1] - start[:, 1]), -np.inf)
    return x, z.max(axis=1)
