"""Drawn baits in the views of a real camera, whose lens bends lines and whose centre is off: lengths as promised.

A wide lens half a metre away sees past the flanks of a full body. Where that hides more than what is promised it is
said, and the depth lies within what is said.
"""

import cv2
import numpy as np
import pinhole
import pytest
import real_views
import traced
from amount import only_with_more
from pinhole import Shot

from bodygen.scan.photo.exactness import SECTIONS, together
from bodygen.scan.photo.trace import traced_photos
from bodygen.scan.photo.view import view_of

BAITS = (None, "tarn-perch-70", "reedbed-roach-65")


@only_with_more
@pytest.mark.parametrize("number", range(len(real_views.VIEWS)), ids=real_views.NAMES)
def test_a_bait_in_the_view_of_a_real_camera_is_measured(number, tmp_path):
    name = BAITS[number % 3]
    body = traced.demo(name) if name else traced.plain()
    shot = Shot(seed=number, spin=real_views.spin_of(number), aside=(0.0, -6.0))
    cv2.imwrite(str(tmp_path / "side.png"), real_views.photograph(number, body, shot)[..., ::-1])
    view = view_of(tmp_path / "side.png", "a4", None)
    assert view.camera.focal == pytest.approx(real_views.FINER * real_views.FOCAL, rel=0.1)
    trace, measured = traced_photos(view, None, body.sizes()[2], nose_right=False)
    off, length = pinhole.outline_off(body, measured.side)
    depth = float((measured.side.high - measured.side.low).max()) - body.sizes()[1]
    said = together(trace.unsure)
    assert abs(measured.side.length - length) < 0.5
    assert abs(depth) < max(0.5, said[1])
    hidden = [one.code for one in trace.findings]
    assert hidden == ["trace-flank-hides"] * (max(part.depth for part in trace.unsure if part.what == SECTIONS) > 1.0)
    assert np.percentile(off, 95) < (said[1] if hidden else 0.4)
