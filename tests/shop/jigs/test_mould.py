"""The mould: a cavity of the body's volume, halves that draw and print without supports, keys and seats that fit."""

from dataclasses import replace
from functools import cache
from math import pi, sqrt

import manifold3d
import numpy as np
import pytest
from amount import MORE
from carved import body, body_skin, tools
from shaped import NAMES, shaped

from bodygen.form.cuts import Prism
from bodygen.form.integrals import body_volume
from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.mesh.measure import enclosed
from bodygen.shop.jigs.mould import facing_away, mould
from bodygen.shop.jigs.mould_channels import default_mould

WITHIN = 0.002
"""The cavity against the body: 0.2 %; facets alone cost 0.07 % at worst."""


@cache
def make(name):
    a = shaped(name)
    return mould(a.body, a.mesh, a.tools, a.plate)


def outside(made):
    """The closed mould's own box, solid."""
    box = np.array((made.right + made.left).bounding_box())
    return manifold3d.Manifold.cube(tuple(box[3:] - box[:3])).translate(tuple(box[:3]))


def key_gaps(count, size):
    """What a socket is larger than its key, closed form: two cut-off cones."""
    r, h, c = size.key_base / 2, size.key_height, size.key_clearance
    taper = np.tan(size.key_draft)
    tip = r - h * taper

    def cone(a, b, tall):
        return pi * tall / 3 * (a * a + a * b + b * b)

    return count * (cone(r + c + c * taper, tip + c, h + c) - cone(r, tip, h))


@pytest.mark.parametrize("name", NAMES if MORE else NAMES[-1:])
def test_the_halves_close_around_the_bodys_volume(name):
    a, made = shaped(name), make(name)
    void = outside(made) - made.right - made.left
    assert (made.right ^ made.left).volume() == pytest.approx(0.0, abs=1e-6)
    assert (void ^ made.cavity).volume() == pytest.approx(a.volume.volume, rel=WITHIN)
    led_in = manifold3d.Manifold.batch_boolean(list(made.channels.values()), manifold3d.OpType.Add)
    keys = key_gaps(4, default_mould())
    assert (void - made.cavity - led_in).volume() == pytest.approx(keys, rel=0.01)  # 48 sides for a circle: 0.3 %


@pytest.mark.parametrize("name", NAMES)
def test_both_halves_draw_without_an_undercut(name):
    made = make(name)
    assert facing_away(made.right, 1.0)[0] == pytest.approx(0.0, abs=1e-3)
    assert facing_away(made.left, -1.0)[0] == pytest.approx(0.0, abs=1e-3)
    assert not [f for f in made.parts.findings if f.code == "mould-undercut"]


@pytest.mark.parametrize("name", NAMES)
def test_a_half_lies_on_its_back_and_nothing_of_it_hangs_over(name):
    """Every face that looks down lies on the bed, so no support is needed; one piece; the parting face is on top."""
    made = make(name)
    for part in made.parts.parts:
        v = part.mesh.vertices
        assert v.min(axis=0) == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)
        corner = v[part.mesh.faces]
        normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
        double = np.linalg.norm(normal, axis=1)
        down = (normal[:, 2] < -0.02 * double) & (double > 1e-3)
        assert corner[down][..., 2].max() == pytest.approx(0.0, abs=1e-5)
        assert len(to_manifold(part.mesh).decompose()) == 1
    right, left = made.parts.parts[:2]
    assert enclosed(right.mesh) == pytest.approx(made.right.volume(), rel=1e-4)
    assert enclosed(left.mesh) == pytest.approx(made.left.volume(), rel=1e-4)


@pytest.mark.parametrize("percent", [0.5, 2.0])
def test_shrinkage_makes_the_cavity_larger_by_its_cube_and_leaves_the_middle_where_it_was(percent):
    made = mould(body(), body_skin(), (), None, replace(default_mould(), shrink_percent=percent))
    assert made.cavity.volume() == pytest.approx(body_volume(body()).volume * (1 + percent / 100) ** 3, rel=WITHIN)
    middle = np.array(made.cavity.bounding_box()).reshape(2, 3).mean(axis=0)
    assert middle == pytest.approx((40.0, 0.0, 0.0), abs=1e-2)
    assert f"{percent:g} % larger" in made.parts.parts[0].purpose


def test_a_wire_laid_in_the_ties_place_lies_in_its_seat():
    """A rod of the bore's own size along the bore's axis, outside the cavity: it touches neither half."""
    made = mould(body(), body_skin(), tools(), None)
    tie = next(tool for tool in tools() if tool.kind == "tie")
    rod = manifold3d.Manifold.cylinder(9.0, tie.diameter / 2, circular_segments=48).rotate((0.0, -90.0, 0.0))
    rod = rod.translate(tie.origin)
    assert next(iter(made.channels)) == "tie seat"
    assert (rod ^ (made.right + made.left)).volume() < 1e-6
    thicker = manifold3d.Manifold.cylinder(9.0, tie.diameter / 2 + 0.2, circular_segments=48).rotate((0.0, -90.0, 0.0))
    assert (thicker.translate(tie.origin) ^ (made.right + made.left)).volume() > 1.0


@pytest.mark.parametrize("name", [name for name in NAMES if shaped(name).plate is not None])
def test_the_core_stands_in_the_slots_place_and_clears_its_seat(name):
    a, made = shaped(name), make(name)
    slot = next(tool for tool in a.tools if isinstance(tool, Prism) and tool.kind == "slot")
    along, normal = np.array(slot.along), np.array(slot.normal)
    across = np.cross(normal, along)
    length = made.core.bounding_box()[3]
    start = np.array(slot.origin) + (slot.depth - length) * along
    start = start - a.plate.tongue_width / 2 * across - a.plate.slot_thickness / 2 * normal
    core = made.core.transform(np.column_stack([along, across, normal, start]))
    assert (core ^ (made.right + made.left)).volume() < 1e-6
    assert length >= default_mould().core_least
    gap = core.min_gap(made.right + made.left, 5.0)
    assert gap == pytest.approx(default_mould().core_clearance, abs=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_channels_keep_off_each_other(name):
    """But for the sprue and the vents of a body so short that they have to share the room."""
    made = make(name)
    poured = {key: channel for key, channel in made.channels.items() if not key.endswith("seat")}
    for key, channel in poured.items():
        for other, seat in made.channels.items():
            if other != key:
                assert channel.min_gap(seat, 20.0) > 0, (key, other)


@pytest.mark.parametrize("name", NAMES if MORE else NAMES[-1:])
def test_keys_stand_clear_of_cavity_and_channels(name):
    """Seen in the parting face, where both are widest."""
    made, size = make(name), default_mould()
    keys = made.right.trim_by_plane((0.0, -1.0, 0.0), 0.001).decompose()
    assert len(keys) == 4
    for key in keys:
        for other in (made.cavity, *made.channels.values()):
            assert key.min_gap(other, 30.0) >= size.cover


def test_a_mesh_that_turns_back_under_itself_is_told():
    """A ball at y = 12 on a stalk behind a larger one: its inner side looks away from the draw."""
    ball = manifold3d.Manifold.sphere(10.0, 48)
    knob = manifold3d.Manifold.sphere(4.0, 192).translate((0.0, 14.0, 0.0))
    stalk = manifold3d.Manifold.cylinder(14.0, 1.5, circular_segments=96).rotate((-90.0, 0.0, 0.0))
    mesh = to_mesh(ball + knob + stalk)
    made = mould(None, mesh, (), None)
    (finding,) = (f for f in made.parts.findings if f.code == "mould-undercut")
    assert finding.where == "mould right"
    foot = 4.0 - sqrt(4.0**2 - 1.5**2)  # height of the knob's cap within the stalk
    hidden = 2 * pi * 4.0**2 - 2 * pi * 4.0 * foot  # of the inner half: Archimedes' caps
    assert finding.value == pytest.approx(hidden, rel=1e-3)  # 192 facets round lie within it by (pi / 192)^2


def test_keys_without_room_are_a_finding():
    assert mould(body(), body_skin(), (), None).parts.findings == ()
    tight = replace(default_mould(), rim=1.0, key_base=16.0)
    assert "mould-keys" in {f.code for f in mould(body(), body_skin(), (), None, tight).parts.findings}


def test_a_kerf_is_left_to_the_saw():
    made = mould(body(), body_skin(), tools(), None)
    assert [f.where for f in made.parts.findings if f.code == "mould-kerf-by-hand"] == ["wire"]
