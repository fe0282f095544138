"""Tools as meshes: a bore's volume against closed forms and the worked bore of the metals' table."""

import os
import subprocess
import sys
from math import pi, radians, tan

import numpy as np
import planks
import pytest

from bodygen.errors import DesignError
from bodygen.form.cuts import Revolved
from bodygen.mesh.cut import cut_with, to_manifold, to_mesh, tool_mesh
from bodygen.mesh.measure import enclosed, mesh_volume
from bodygen.mesh.skin import Mesh
from bodygen.recipe.model import Bore, Counterbore, Lip, WireSlot
from bodygen.tables import load

BLOCK = (60.0, 30.0, 40.0)
AT_WORK = """
import os
before = os.sched_getaffinity(0)
import bodygen.mesh.cut
from manifold3d import Manifold
ball = Manifold.sphere(10.0, 200)
(ball - ball.translate((1.0, 0.0, 0.0))).volume()
print(len(os.listdir("/proc/self/task")), os.sched_getaffinity(0) == before)
"""


def block():
    """A squared blank: a plane face has no curved mouth, so that holes have closed forms."""
    import manifold3d

    return manifold3d.Manifold.cube(BLOCK, True).translate((30.0, 0.0, 0.0))


def hole(profile, *, ball=False, shoulder=0.0, point=0.0, axis=(0.0, 0.0, 1.0), origin=(30.0, 0.0, -20.0)):
    """What a revolved tool takes out of the block [mm^3], let in from below."""
    tool = Revolved("t", "any", 0, False, origin, axis, profile, ball, 2 * profile[1][1], shoulder, point)
    return (to_manifold(tool_mesh(tool)) ^ block()).volume()


def drilled(d, shoulder, tip):
    """A drill's profile from 50 mm outside."""
    return ((-50.0, 0.0), (-50.0, d / 2), (shoulder, d / 2), (shoulder + tip, 0.0))


def test_the_worked_bore_of_the_metals_table_comes_out_either_way():
    """``tables/metals.toml`` [check_bore]: 5/16 in, 1/2 in deep, 118 degrees, to the shoulder and to the point."""
    check = load("metals")["check_bore"]
    d, depth = check["diameter_mm"], check["depth_mm"]
    tip = d / 2 / tan(radians(59))
    assert tip == pytest.approx(check["cone_height_mm"], abs=5e-5)
    assert hole(drilled(d, depth, tip)) == pytest.approx(check["volume_depth_to_shoulder_mm3"], abs=0.005)
    assert hole(drilled(d, depth - tip, tip)) == pytest.approx(check["volume_depth_to_point_mm3"], abs=0.005)
    assert hole(drilled(d, depth, 0.0)) == pytest.approx(check["plain_cylinder_mm3"], abs=0.005)


def test_a_ball_tip_is_a_half_ball():
    """pi r^2 h + 2/3 pi r^3, the drawn frusta grown to the ball's own volume."""
    profile = ((-50.0, 0.0), (-50.0, 3.0), (8.0, 3.0), (11.0, 0.0))
    assert hole(profile, ball=True, shoulder=8.0, point=11.0) == pytest.approx(pi * 9 * 8 + 2 / 3 * pi * 27, rel=1e-9)


def test_a_counterbore_is_a_wider_cylinder_on_top():
    profile = ((-50.0, 0.0), (-50.0, 4.0), (2.0, 4.0), (2.0, 2.5), (9.0, 2.5), (9.0, 0.0))
    assert hole(profile) == pytest.approx(pi * (16 * 2 + 6.25 * 7), rel=1e-9)


def test_a_leaning_bore_holds_what_the_upright_one_does():
    """Through the middle of a plane mouth, what one side loses the other gains."""
    axis = (np.sin(0.4), 0.0, np.cos(0.4))
    assert hole(drilled(5.0, 12.0, 1.5), axis=axis) == pytest.approx(hole(drilled(5.0, 12.0, 1.5)), rel=1e-9)


@pytest.mark.parametrize(
    "parts",
    [
        {"bores": (Bore("b", "any", "belly", 6, 9, x=30, counterbore=Counterbore(8, 1.5)),)},
        {"bores": (Bore("b", "any", "side", 6, 9, x=30, tip="ball"),)},
        {"wire_slots": (WireSlot("w", "back", 20, 60, 1.5, depth=4),)},
        {"lip": Lip("sheet", 1.5, 0.6, 8, 20, 16, x=15)},
    ],
    ids=["bore", "ball", "kerf", "slot"],
)
def test_every_tool_is_one_closed_mesh_turned_outwards(parts):
    (tool,) = planks.tools(planks.bar(), **parts)
    mesh = tool_mesh(tool)
    assert enclosed(mesh) > 0
    assert len(to_manifold(mesh).decompose()) == 1


def test_a_slot_takes_thickness_times_depth_times_width_out_of_a_block():
    """The block again: a level slot from its nose end, 1.6 wide, 8 deep, 12 across."""
    from bodygen.form.cuts import Prism

    slot = Prism(
        "s", "slot", (0.0, 0.0, 3.0), (1.0, 0, 0), (0.0, 0, 1), ((-50, -0.8), (8, -0.8), (8, 0.8), (-50, 0.8)), 6.0, 8.0
    )
    assert (to_manifold(tool_mesh(slot)) ^ block()).volume() == pytest.approx(1.6 * 8 * 12, rel=1e-7)


def test_an_open_skin_is_refused():
    with pytest.raises(DesignError, match="not one closed mesh"):
        to_manifold(Mesh(np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), np.array([[0, 1, 2]])))


def test_no_tools_leave_the_body_as_it_is():
    assert cut_with(block(), []).volume() == pytest.approx(60 * 30 * 40)


def test_a_mesh_and_a_solid_turn_into_each_other():
    there = to_mesh(block())
    np.testing.assert_allclose(mesh_volume(to_mesh(to_manifold(there))).inertia, mesh_volume(there).inertia)


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="only Linux lets the kernel's threads be counted down")
def test_the_mesh_kernel_works_on_the_one_thread_that_asks_it_and_the_process_may_run_where_it_might():
    """20 000 triangles, which it shares out where it may."""
    alone = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    said = subprocess.run([sys.executable, "-c", AT_WORK], env=alone, capture_output=True, text=True, check=True)
    assert said.stdout.split() == ["1", "True"]


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="only Linux lets the kernel's threads be counted down")
def test_where_a_process_may_not_say_where_it_runs_meshes_are_cut_all_the_same():
    forbid = "import errno, os\ndef no(*_): raise PermissionError(errno.EPERM, 'no')\nos.sched_setaffinity = no\n"
    said = subprocess.run([sys.executable, "-c", forbid + AT_WORK], capture_output=True, text=True, check=True)
    assert said.stdout.split()[1] == "True"
