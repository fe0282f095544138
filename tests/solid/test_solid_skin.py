"""The body in the CAD kernel: one valid closed solid of the exact volume, whatever its ends, flats and corners."""

import carved
import numpy as np
import planks
import pytest

from bodygen.errors import DesignError
from bodygen.form.integrals import body_volume
from bodygen.solid.measure import solid_volume
from bodygen.solid.skin import SPANS, body_solid, sound

BODIES = {
    "round ends": carved.body,
    "corner and points": planks.double_cone,
    "corner and plane ends": lambda: planks.double_cone(sized=0.3),
    "flat flanks": lambda: planks.bar(flat=(4, 3, 0)),
    "flat all round": lambda: planks.bar(flat=(4, 3, 2)),
}


@pytest.mark.parametrize("name", BODIES)
def test_the_kernels_figures_are_the_exact_ones(name):
    """Two ways over the same poles that share no code: 1e-9 of the volume; the kernel integrates to 1e-6 or better."""
    body = BODIES[name]()
    exact, theirs = body_volume(body), solid_volume(body_solid(body))
    assert theirs.volume == pytest.approx(exact.volume, rel=1e-9)
    np.testing.assert_allclose(theirs.centroid, exact.centroid, atol=1e-6)
    np.testing.assert_allclose(theirs.inertia, exact.inertia, atol=1e-6 * np.trace(exact.inertia))


def faces_of(shape):
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer

    explorer, count = TopExp_Explorer(shape, TopAbs_FACE), 0
    while explorer.More():
        count += 1
        explorer.Next()
    return count


@pytest.mark.parametrize(
    ("make", "around", "along", "ends"),
    [
        (planks.bar, 4, [8], 2),
        (planks.double_cone, 4, [6, 8], 0),
        (lambda: planks.bar(flat=(4, 3, 2)), 10, [8], 2),
    ],
    ids=["plane ends", "corner", "five Beziers"],
)
def test_there_is_a_face_for_every_bezier_and_few_spans_on_both_sides_and_for_each_plane_end(make, around, along, ends):
    """``along``: spans between corners."""
    faces = around * sum(-(-spans // SPANS) for spans in along) + ends
    assert faces_of(body_solid(make())) == faces


def test_two_solids_are_not_one():
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Compound

    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    with pytest.raises(DesignError, match="finds 0 separate pieces"):
        sound(compound)
    for body in (planks.bar(), carved.body()):
        builder.Add(compound, body_solid(body))
    with pytest.raises(DesignError, match="finds 2 separate pieces"):
        sound(compound)
