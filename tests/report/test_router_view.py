"""The picture of a router job: a PNG of its own size, the same bytes each time, with cuts and rapids in it."""

from io import BytesIO

import numpy as np
from PIL import Image

from bodygen.export.png import page_png
from bodygen.plane.polygon import rectangle
from bodygen.plane.shapes import Circle
from bodygen.report.pictures.router_view import DOTS_TO_AN_INCH, router_page
from bodygen.shop.mill.cutters import cutter_named
from bodygen.shop.mill.job import Stock
from bodygen.shop.mill.profile import profile_job


def job():
    stock = Stock(100.0, 60.0, 3.0, "plywood", clamps=((0.0, 0.0, 10.0, 60.0),))
    return profile_job("plate", [rectangle(50.0, 30.0), Circle((25.0, 15.0), 5.0)], stock, cutter_named("flat_3"))


def drawn():
    return page_png(router_page(job()), DOTS_TO_AN_INCH)


def test_a_job_is_drawn_the_same_each_time():
    assert drawn() == drawn()


def test_deep_cuts_are_dark_and_clamps_red():
    pixels = np.asarray(Image.open(BytesIO(drawn())).convert("RGB")).astype(int)
    red, green, blue = pixels[:, :, 0], pixels[:, :, 1], pixels[:, :, 2]
    assert ((red - green > 60) & (red - blue > 60)).sum() > 500  # the clamps' hatch
    assert ((blue > 60) & (red < 90) & (green < 40)).sum() > 200  # the underside's violet
