"""What a two-part mould is made to, from ``tables/mould.toml``."""

from dataclasses import dataclass
from math import radians

from bodygen.tables import load


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


def usual_mould() -> MouldSize:
    """The sizes of ``tables/mould.toml``: common practice, no published source."""
    table = load("mould")
    mould, key, channel, seat = (table[name] for name in ("mould", "key", "channel", "seat"))
    return MouldSize(
        shrink_percent=mould["shrink_percent"],
        wall=mould["wall_mm"],
        rim=mould["rim_mm"],
        cover=mould["cover_mm"],
        key_base=key["base_mm"],
        key_height=key["height_mm"],
        key_draft=radians(key["draft_deg"]),
        key_clearance=key["clearance_mm"],
        key_count=key["count"],
        gate=channel["gate_mm"],
        gate_share=channel["gate_share"],
        funnel=channel["funnel_mm"],
        funnel_height=channel["funnel_height_mm"],
        vent=channel["vent_mm"],
        vent_shares=tuple(channel["vent_shares"]),
        into=channel["into_mm"],
        apart=channel["apart_mm"],
        wire_clearance=seat["wire_clearance_mm"],
        core=seat["core_mm"],
        core_least=seat["core_least_mm"],
        core_clearance=seat["core_clearance_mm"],
    )
